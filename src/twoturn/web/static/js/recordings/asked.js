// The page of one recording or photo: record here, choose or drag in a file; what is sent goes through the queue.
import { onChange, onSent, send } from "../queue.js";
import { showSmall } from "./photo.js";
import { Recorder, whyNot } from "./record.js";

const QUEUED_BYTES = 60e6;
const DONE = {
  photo: "Kept and entered. Another one may follow.",
  other: "The recording is kept; its result is being worked out.",
};

class Sending {
  constructor(form) {
    this.form = form;
    this.job = form.dataset.job;
    this.kind = form.dataset.kind;
    this.input = form.querySelector("[data-file]");
    this.keys = new Set();
    this.input.addEventListener("change", () => showSmall(this.input.files[0], form.querySelector("[data-chosen]")));
    form.addEventListener("submit", (event) => this.submitted(event));
    this.takeDrops();
    const recorder = form.querySelector("[data-recorder]");
    if (recorder) this.offerRecorder(recorder);
    onSent((news) => this.arrived(news));
    onChange((letters) => this.changed(letters));
  }

  offerRecorder(root) {
    const why = whyNot();
    if (why) {
      const note = this.form.querySelector("[data-no-recorder]");
      note.textContent = why;
      note.hidden = false;
    } else {
      this.recorder = new Recorder(root, (file, settings) => this.send(file, settings));
    }
  }

  takeDrops() {
    const place = this.form.querySelector("[data-drop]");
    for (const name of ["dragenter", "dragover"]) {
      place.addEventListener(name, (event) => {
        event.preventDefault();
        place.classList.add("over");
      });
    }
    for (const name of ["dragleave", "drop"]) place.addEventListener(name, () => place.classList.remove("over"));
    place.addEventListener("drop", (event) => {
      event.preventDefault();
      if (!event.dataTransfer.files.length) return;
      this.input.files = event.dataTransfer.files;
      this.input.dispatchEvent(new Event("change"));
    });
  }

  submitted(event) {
    const file = this.input.files[0];
    if (!file || file.size > QUEUED_BYTES) return; // a large one goes straight to the bench
    event.preventDefault();
    this.send(file, null);
  }

  async send(file, settings) {
    const fields = {};
    for (const [name, value] of new FormData(this.form)) {
      if (typeof value === "string" && !["csrf", "settings"].includes(name)) fields[name] = value;
    }
    if (settings) fields.settings = JSON.stringify(settings);
    const labels = Object.fromEntries(Object.keys(fields).map((name) => [name, this.labelOf(name)]).filter(([, label]) => label));
    const words = `${this.form.dataset.words} (${file.name})`;
    const key = await send({ url: `/jobs/${this.job}/files`, file, name: file.name, fields, labels, words, job: Number(this.job) });
    this.keys.add(key);
    this.say("Kept in this browser, and being sent.");
  }

  labelOf(name) {
    const input = this.form.elements[name];
    return input?.labels?.[0]?.textContent.trim();
  }

  arrived({ key, answer }) {
    if (!this.keys.delete(key)) return;
    if (answer?.analysis) location.assign(answer.analysis.url);
    else this.say(this.kind === "photo" ? DONE.photo : DONE.other);
    for (const warning of answer?.warnings ?? []) this.say(`${this.said} ${warning}`);
    this.input.value = "";
    showSmall(null, this.form.querySelector("[data-chosen]"));
  }

  changed(letters) {
    const mine = letters.find((letter) => this.keys.has(letter.key) && letter.state === "refused");
    if (mine) this.say(`Not taken: ${mine.fault.sentence}`);
  }

  say(words) {
    this.said = words;
    this.form.querySelector("[data-sent]").textContent = words;
  }
}

for (const form of document.querySelectorAll("[data-sending]")) form.sending = new Sending(form);
