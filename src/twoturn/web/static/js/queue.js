// The queue of what is entered: kept by the browser first, then sent in order, each exactly once, whatever the connection does.
import { askHere, post } from "./queue/post.js";
import * as store from "./queue/store.js";
import { inTurn, randomText } from "./queue/turn.js";

const FIRST_WAIT_MS = 1000;
const LONGEST_WAIT_MS = 30000;

const sentBy = new Set();
const changedBy = new Set();
const channel = "BroadcastChannel" in globalThis ? new BroadcastChannel("twoturn-queue") : null;

/** How it stands with the connection: `offline`, `signIn` (the person to ask, or true), `busy` (why the bench cannot now). */
export const standing = { offline: false, signIn: false, busy: "", here: null };

let timer;
let failures = 0;
let running = false;
let askedAgain = false;

/**
 * Put something in the queue; resolves with its key once the browser has it on disk.
 *
 * url    where it goes
 * body   what is sent as JSON; `rows` is short for { entries: rows }
 * fields, file, name   what is sent as a form, with a file and its name
 * key    idempotency key; made here where none is given
 * words  what a person reads while it waits
 * job    number of the job it belongs to
 * labels what a person calls each field, by its key
 */
export async function send({ url, key = randomText(), words = "", job = null, labels = {}, ...content }) {
  const letter = {
    key, url, words, job, labels, who: person(), made: new Date().toISOString(), state: "waiting", fault: null, tries: 0,
  };
  const { body, rows, fields, file, name } = content;
  if (file) Object.assign(letter, { file, name: name ?? file.name ?? "file", fields: fields ?? {} });
  else if (fields) letter.fields = fields;
  else letter.body = body ?? { entries: rows };
  await store.keep(letter);
  await tell();
  sendNow();
  return key;
}

/** All that waits, oldest first. */
export const waiting = () => store.all();

/** Call `act({ key, url, job, asked, answer })` for everything that has arrived, whichever page sent it. */
export function onSent(act) {
  sentBy.add(act);
}

/** Call `act(letters)` whenever what waits, or how it stands, has changed. */
export function onChange(act) {
  changedBy.add(act);
  store.all().then(act);
}

/** Change a letter that was refused and send it anew: other content is another letter, so it gets another key. */
export async function mend(id, alter) {
  await store.change(id, (letter) => {
    alter(letter);
    Object.assign(letter, { key: randomText(), state: "waiting", fault: null, tries: 0 });
  });
  await tell();
  sendNow();
}

/** Let a letter go unsent. */
export async function drop(id) {
  await store.letGo(id);
  await tell();
}

/** Send what waits, now. */
export function sendNow() {
  clearTimeout(timer);
  if (running) {
    askedAgain = true;
    return;
  }
  running = true;
  run().finally(() => {
    running = false;
    if (askedAgain) {
      askedAgain = false;
      sendNow();
    }
  });
}

async function run() {
  let done = true;
  const mine = await inTurn(async (prolong) => {
    done = await drain(prolong);
  });
  failures = mine && done ? 0 : failures + 1;
  if (!mine || !done) later();
  await tell(false);
}

function later() {
  const wait = Math.min(LONGEST_WAIT_MS, FIRST_WAIT_MS * 2 ** Math.min(failures - 1, 10));
  timer = setTimeout(sendNow, wait * (0.75 + Math.random() / 2));
}

// Sends one letter after the other; false where it has to be tried again later.
async function drain(prolong) {
  let letters = ready(await store.all());
  if (!letters.length) {
    Object.assign(standing, { busy: "", signIn: false });
    return true;
  }
  const here = await askHere();
  Object.assign(standing, { offline: here === null, here, busy: "" });
  if (!here) return false;
  for (;;) {
    letters = ready(await store.all());
    const letter = letters.find((one) => here.person && isOf(one, here.person));
    standing.signIn = !letter && letters.length ? letters[0].who ?? true : false;
    if (!letter) return !letters.length;
    if (!(await prolong())) return false;
    if (!(await settle(letter, await post(letter, here.csrf)))) return false;
  }
}

// A letter is signed by whoever is signed in when it arrives: so it waits for the one who wrote it.
const isOf = (letter, person) => !letter.who || letter.who.id === person.id;
const ready = (letters) => letters.filter((letter) => letter.state === "waiting");

/** Id of the question that a letter answers; null where it answers none. */
export const askedBy = (letter) => letter.body?.asked ?? letter.fields?.asked ?? null;

async function settle(letter, outcome) {
  if (outcome.sent) {
    await store.letGo(letter.id);
    const { key, url, job } = letter;
    arrived({ key, url, job, asked: askedBy(letter), answer: outcome.answer });
    await tell();
    return true;
  }
  if (outcome.fault) {
    await store.change(letter.id, (kept) => Object.assign(kept, { state: "refused", fault: outcome.fault }));
    await tell();
    return true;
  }
  if (outcome.signIn) standing.signIn = letter.who ?? true;
  else standing.busy = outcome.words;
  await store.change(letter.id, (kept) => (kept.tries += 1));
  return false;
}

function arrived(news) {
  for (const act of sentBy) act(news);
  channel?.postMessage({ news });
}

async function tell(others = true) {
  const letters = await store.all();
  for (const act of changedBy) act(letters);
  if (others) channel?.postMessage({ changed: true });
}

/** Whoever is signed in on this page, as the server wrote it there. */
function person() {
  const held = document.getElementById("waiting")?.dataset;
  return held?.person ? { id: Number(held.person), name: held.name } : null;
}

/** Hand a letter over to whoever is signed in now. */
export async function takeOver() {
  const now = standing.here?.person;
  if (!now) return;
  for (const letter of await store.all()) {
    await store.change(letter.id, (kept) => (kept.who = { id: now.id, name: now.name }));
  }
  sendNow();
}

/** Begin: send what waits from before, and again whenever the connection may be back. */
export function startSending() {
  if (channel) {
    channel.onmessage = ({ data }) => {
      if (data.news) for (const act of sentBy) act(data.news);
      tell(false);
    };
  }
  addEventListener("online", () => {
    standing.offline = false;
    sendNow();
  });
  addEventListener("offline", () => {
    standing.offline = true;
    tell(false);
  });
  document.addEventListener("visibilitychange", () => {
    if (!document.hidden) sendNow();
  });
  sendNow();
}
