// A list drive by taps: the wheels along the belt, the tensioner, the fasteners; text, drawing and faults grow with it.

import { Asker } from "./ask.js";
import { h, say } from "./dom.js";
import { faultWords, showFaults } from "./faults.js";
import { sentList } from "./kept.js";
import { LiveDrive } from "./live.js";
import { adders, keys, typed } from "./list_parts.js";
import { boltRow, tensionerKeys, wheelRow } from "./list_rows.js";
import { emptyAnswers, followCrank, forgetAnswers, keepAnswers, keptAnswers, newWheel } from "./list_state.js";

const NUT = "tensioner nut";

/** The page on an element with `data-list-drive`. */
export class ListPage {
  constructor(root) {
    this.root = root;
    this.part = (name) => root.querySelector(`[data-part="${name}"]`);
    this.offered = JSON.parse(root.dataset.listDrive);
    const kept = keptAnswers();
    this.answers = kept ?? emptyAnswers();
    this.asker = new Asker(
      root.dataset.look,
      root.dataset.csrf,
      (answer) => this.show(answer),
      (sentence) => {
        this.sending = false; // it goes when it is asked for again
        say(this.part("state"), sentence);
      },
    );
    this.part("again").hidden = !kept;
    this.part("fresh").addEventListener("click", () => this.fresh());
    root.addEventListener("submit", (event) => this.send(event));
    this.redraw();
  }

  fresh() {
    forgetAnswers();
    this.answers = emptyAnswers();
    this.part("again").hidden = true;
    this.redraw();
  }

  /** Something was answered: keep it and ask what it makes. */
  changed() {
    keepAnswers(this.answers);
    this.upToDate = false;
    this.asker.soon(this.answers);
  }

  /** Send the drive; where the last answers are not in its text yet, once they are. */
  send(event) {
    if (!navigator.onLine) {
      event.preventDefault();
      say(this.part("state"), "No connection to the bench. The answers stay here: send them when the connection is back.");
      return;
    }
    if (this.upToDate) {
      sentList(this.part("text").value);
      return;
    }
    event.preventDefault();
    this.sending = true;
    this.asker.now(this.answers);
  }

  /** Draw all questions anew, the focus kept where it was. */
  redraw() {
    const { answers, offered } = this;
    const focused = document.activeElement?.dataset.key;
    const set = (key) => (value) => {
      answers[key] = value;
      this.changed();
    };
    const wheels = offered.wheels.map((wheel) => wheel.name).filter((name) => name !== "tensioner" || !this.has("tensioner"));
    this.part("asked").replaceChildren(
      h("h2", { text: "Engine" }),
      typed("Name of the engine or drive", answers.name, "name", set("name")),
      ...this.source(set("source")),
      keys("The crankshaft turns, seen at the belt end", offered.ways.map((one) => [one, one]), answers.crank_turns, set("crank_turns")),
      h("h2", { text: "Belt and wheels" }),
      typed("Teeth of the belt", answers.belt_teeth, "belt_teeth", set("belt_teeth"), "-"),
      h("p", { text: "Wheels in the order in which the belt runs over them, from the crankshaft on." }),
      h("ol", { class: "list-rows" }, ...answers.wheels.map((wheel, at) => wheelRow(this, wheel, at))),
      adders("The next wheel along the belt", wheels, (name) => this.add(answers.wheels, newWheel(offered, answers, name))),
      h("h2", { text: "Tensioner" }),
      ...tensionerKeys(this),
      h("h2", { text: "Fasteners" }),
      h("ul", { class: "list-rows" }, ...answers.bolts.map((bolt, at) => boltRow(this, bolt, at))),
      adders("Add one", this.boltNames(), (name) => this.add(answers.bolts, newBolt(name))),
      this.further(set),
    );
    if (focused) this.focus(focused);
    this.changed();
  }

  /** Where the numbers come from: by a key, or in words. */
  source(set) {
    const { answers, offered } = this;
    const byKey = offered.sources.includes(answers.source);
    const pick = (value) => {
      answers.source = value;
      this.redraw();
    };
    const write = (value) => {
      for (const one of this.part("asked").querySelectorAll("input[type=radio][data-key^='source ']")) one.checked = false;
      set(value);
    };
    return [
      keys("Where do the numbers come from?", offered.sources.map((one) => [one, one]), answers.source, pick, "source"),
      typed("or in words", byKey ? "" : answers.source, "source in words", write),
    ];
  }

  /** Give the focus back to the control of that key. */
  focus(key) {
    const all = [...this.part("asked").querySelectorAll("[data-key]")];
    all.find((one) => one.dataset.key === key)?.focus({ preventScroll: true });
  }

  further(set) {
    const { answers, offered } = this;
    const turns = offered.after_turns.map((one) => [one, String(one)]);
    const yes = { yes: "yes", no: "no", unknown: "not known" };
    return h(
      "details",
      { class: "further", open: this.opened, toggle: (event) => (this.opened = event.target.open) },
      h("summary", { text: "Interference, interval, turns" }),
      keys("Do valves meet pistons when the belt breaks?", offered.interference.map((one) => [one, yes[one]]), answers.interference, set("interference")),
      keys("Fuel", [["", "not said"], ...offered.fuels.map((one) => [one, one])], answers.fuel, set("fuel")),
      keys("Turns by hand before the check", turns, answers.after_turns, set("after_turns")),
      keys("Due after", [["", "not said"], ...offered.km.map((one) => [String(one), `${one / 1000} 000 km`])], answers.km, set("km")),
      keys("or after", [["", "not said"], ...offered.months.map((one) => [String(one), `${one} months`])], answers.months, set("months")),
    );
  }

  has(name) {
    return this.answers.wheels.some((wheel) => wheel.name === name);
  }

  boltNames() {
    const named = this.answers.wheels.filter((wheel) => wheel.name !== "tensioner").map((wheel) => `${wheel.name} bolt`);
    const all = [NUT, ...named, ...this.offered.further_fasteners];
    return all.filter((name, at) => all.indexOf(name) === at && !this.answers.bolts.some((bolt) => bolt.name === name));
  }

  add(rows, row) {
    rows.push(row);
    this.redraw();
    const kind = rows === this.answers.wheels ? "ol" : "ul";
    const last = this.part("asked").querySelector(`${kind}.list-rows > li:last-child`);
    const fields = [...last.querySelectorAll("input[type=text]")];
    (fields.find((field) => !field.value) ?? fields[0])?.focus({ preventScroll: true });
  }

  drop(rows, at) {
    rows.splice(at, 1);
    this.redraw();
  }

  move(rows, at, by) {
    rows.splice(at + by, 0, ...rows.splice(at, 1));
    this.redraw();
  }

  /** Teeth of a wheel were typed; those that follow the crankshaft's follow. */
  teeth(wheel, value) {
    const before = wheel.teeth;
    wheel.teeth = value;
    if (wheel === this.answers.wheels[0]) {
      followCrank(this.offered, this.answers, before);
      this.fillTeeth();
    }
    this.changed();
  }

  fillTeeth() {
    this.answers.wheels.forEach((wheel, at) => {
      const fault = this.part("asked").querySelector(`[data-field="wheels.${at}.teeth"]`);
      const input = fault?.parentElement.querySelector("input");
      if (input && input !== document.activeElement) input.value = wheel.teeth;
    });
  }

  show(answer) {
    this.upToDate = true;
    for (const place of this.part("asked").querySelectorAll("[data-field]")) {
      const sentence = answer.fields[place.dataset.field] ?? "";
      say(place, sentence);
      place.hidden = !sentence;
    }
    this.showMissing(answer);
    this.part("hints").replaceChildren(...answer.hints.map((text) => h("li", { text })));
    this.part("text").value = answer.text;
    this.part("keep").disabled = !answer.good;
    if (this.sending && answer.good) this.root.requestSubmit();
    this.sending = false;
    if (!answer.live) return;
    const hand = this.live?.hand;
    this.live?.close();
    this.live = new LiveDrive(this.part("live"), answer.live, (id) => this.goTo(answer.live, id));
    if (hand) this.live.to(hand.crank);
  }

  /** What is missing in the words of the page; faults of the text only where nothing is. */
  showMissing({ good, missing, faults }) {
    const left = missing.length ? missing : faults;
    this.part("faults").classList.toggle("left", missing.length > 0);
    say(this.part("state"), good ? "Complete: it can be kept." : missing.length ? "Still missing:" : faultWords(faults));
    showFaults(this.part("faults"), left, (line, at) => this.focusField(missing[at]?.field));
  }

  focusField(field) {
    const key = [...this.part("asked").querySelectorAll("[data-key]")].find((one) => one.dataset.key.startsWith(field ?? ""));
    key?.focus();
    key?.scrollIntoView({ block: "center" });
  }

  /** Go to the row of a wheel that was tapped in the drawing. */
  goTo(live, id) {
    const row = this.part("asked").querySelector(`ol.list-rows > li:nth-child(${live.belts[0].order.indexOf(id) + 1})`);
    row?.scrollIntoView({ block: "center" });
    row?.querySelector("input, button")?.focus({ preventScroll: true });
  }
}

const newBolt = (name) => ({ name, torque_nm: "", angle_deg: "", thread: "", count: 1, single_use: false, holds: false });

for (const root of document.querySelectorAll("[data-list-drive]")) root.listPage = new ListPage(root);
