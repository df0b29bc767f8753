// The drive editor: text on one side, live drawing and every fault as it is typed; unsaved text is kept and offered.

import { Asker } from "./ask.js";
import { h, say, settled } from "./dom.js";
import { faultWords, goToLine, select, showFaults } from "./faults.js";
import { forget, keep, keptOf, whenKept } from "./kept.js";
import { LiveDrive } from "./live.js";
import { lastLine } from "./table_text.js";
import { WheelForm } from "./wheel_form.js";

const KEEP_MS = 300;

/** The editor on a form with `data-drive-editor`. */
export class Editor {
  constructor(form) {
    this.form = form;
    this.part = (name) => form.querySelector(`[data-part="${name}"]`);
    this.text = this.part("text");
    this.saved = "unsaved" in form.dataset ? null : this.text.defaultValue;
    this.name = form.dataset.keptName;
    this.asker = new Asker(
      form.dataset.look,
      form.dataset.csrf,
      (answer) => this.show(answer),
      (sentence) => say(this.part("state"), sentence),
    );
    this.keepSoon = settled(() => this.keep(), KEEP_MS);
    this.text.addEventListener("input", () => this.typed());
    this.text.addEventListener("scroll", () => this.scrollLines());
    this.text.addEventListener("keydown", (event) => this.key(event));
    window.addEventListener("pagehide", () => this.keep());
    form.addEventListener("submit", (event) => this.send(event));
    this.wheel = new WheelForm(this.part("wheel"), this.text, (text) => this.write(text), () => this.goTo(this.marked, true));
    this.offer();
    this.number();
    this.asker.now({ text: this.text.value });
  }

  typed() {
    this.number();
    this.keepSoon();
    this.asker.soon({ text: this.text.value });
  }

  /** A text made by the fields of a wheel. */
  write(text) {
    this.text.value = text;
    this.typed();
  }

  /** Without a connection nothing is sent: the browser would lose the page. */
  send(event) {
    this.keep();
    if (navigator.onLine) return;
    event.preventDefault();
    say(this.part("state"), "No connection to the bench. What is typed stays here: send it when the connection is back.");
  }

  /** Keep what differs from what was saved. */
  keep() {
    if (this.text.value === this.saved) {
      if (this.part("offer").hidden) forget(this.name); // what is offered stays until it is taken or thrown away
      say(this.part("kept"), "");
      return;
    }
    const done = keep(this.name, this.text.value);
    say(this.part("kept"), done ? "Not saved yet; kept in this browser." : "Not saved yet, and this browser keeps nothing: save soon.");
  }

  /** Offer text that was kept and never saved. */
  offer() {
    const kept = keptOf(this.name);
    const box = this.part("offer");
    if (!kept || kept.text === this.text.value) return;
    box.hidden = false;
    say(this.part("offer-words"), `Text that was never saved is kept here since ${whenKept(kept)}.`);
    this.part("take").addEventListener("click", () => {
      this.text.value = kept.text;
      box.hidden = true;
      this.typed();
    });
    this.part("throw").addEventListener("click", () => {
      box.hidden = true;
      this.keep();
    });
  }

  show(answer) {
    say(this.part("state"), faultWords(answer.faults));
    showFaults(this.part("faults"), answer.faults, (line) => goToLine(this.text, line));
    this.bad = new Set(answer.faults.map((fault) => fault.line));
    this.number();
    if (!answer.live) {
      this.part("live").classList.add("old");
      return;
    }
    this.part("live").classList.remove("old");
    const hand = this.live?.hand;
    this.live?.close();
    this.live = new LiveDrive(this.part("live"), answer.live, (id) => this.goTo(id));
    if (hand && !hand.backBy) this.live.to(hand.crank);
    this.showParts(answer.parts);
  }

  /** A key for every wheel, which goes to its lines as a tap on the drawing does. */
  showParts(parts) {
    const before = JSON.stringify(this.wheels);
    this.wheels = parts;
    if (before !== JSON.stringify(parts)) {
      const keys = parts.map(({ id }) => h("button", { type: "button", text: id, click: () => this.goTo(id) }));
      this.part("parts").replaceChildren(...keys);
    }
    if (before === undefined) this.goTo(decodeURIComponent(window.location.hash.slice(1)));
  }

  /** Go to a wheel: its lines marked, its numbers as fields, or the text itself. */
  goTo(id, toText = false) {
    const part = this.wheels.find((one) => one.id === id);
    if (!part) return;
    this.marked = id;
    select(this.text, part.line, lastLine(this.text.value, part.line), toText);
    this.number();
    if (!toText) this.wheel.show(id, part.line);
  }

  /** Lines of the wheel that was tapped last. */
  get marks() {
    const part = this.wheels?.find((one) => one.id === this.marked);
    return part ? [part.line, lastLine(this.text.value, part.line)] : [0, 0];
  }

  /** Line numbers beside the text, those with a fault and those of the tapped wheel marked. */
  number() {
    const count = this.text.value.split("\n").length;
    const [first, last] = this.marks;
    const sign = (line) => (this.bad?.has(line) ? "✕" : line >= first && line <= last ? "▸" : " ");
    const rows = Array.from({ length: count }, (_, at) => `${sign(at + 1)}${String(at + 1).padStart(4)}`);
    say(this.part("lines"), rows.join("\n"));
    this.scrollLines();
  }

  scrollLines() {
    this.part("lines").scrollTop = this.text.scrollTop;
  }

  key(event) {
    if (event.key === "s" && (event.ctrlKey || event.metaKey)) {
      event.preventDefault();
      this.form.requestSubmit();
    }
  }
}

for (const form of document.querySelectorAll("[data-drive-editor]")) form.driveEditor = new Editor(form);
