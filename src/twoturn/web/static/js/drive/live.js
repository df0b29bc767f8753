// The live drive: the drawing, the hand on the crankshaft, the tensioner, and in words what they show.
// A page gives <div data-live-drive='…'> with what acts.live_drive answers; the editors mount it themselves.

import { Adjuster } from "./adjuster.js";
import { dragTurns, keyTurn } from "./drag.js";
import { Drawing } from "./drawing.js";
import { h, say, settled } from "./dom.js";
import { Hand } from "./hand.js";
import { signs } from "./legend.js";
import { Player } from "./play.js";
import { Ring } from "./ring.js";
import { tapped } from "./tap.js";
import { backWords, crankWords, linesWords, marksWords, teethWords, wheelWords } from "./words.js";

const TALLEST = 620;
const NARROW = 250;

/** A live drive inside `root`, made from the numbers in `data`; `chosen(id)` is called for a wheel that is tapped. */
export class LiveDrive {
  constructor(root, data, chosen = null) {
    Object.assign(this, { root, data, chosen: chosen ?? ((id) => this.tell(id)) });
    this.hand = new Hand(data.after_turns);
    this.moved = {};
    this.player = new Player((crank) => this.to(crank), () => this.playing(false));
    this.announce = settled(() => say(this.spoken, this.summary()), 700);
    this.build();
    this.width = 0;
    this.watcher = new ResizeObserver(() => this.draw());
    this.watcher.observe(this.pictures);
    this.draw();
  }

  build() {
    const { data } = this;
    this.pictures = h("div", { class: "live-pictures" });
    this.ring = new Ring(data);
    this.where = h("p", { class: "live-where" });
    this.warning = h("p", { class: "caution live-back", role: "alert", hidden: true });
    this.marks = h("ul", { class: "live-marks" });
    this.sum = h("p", { class: "live-sum" });
    this.lines = data.belts.map(() => h("p", { class: "live-lines" }));
    this.spoken = h("p", { class: "aside", role: "status", "aria-live": "polite" });
    this.adjusters = data.belts.map((belt) =>
      belt.tensioners.map((one) => new Adjuster(one, (row) => this.adjust(belt, one, row))),
    );
    const panel = h(
      "div",
      { class: "live-panel" },
      h("div", { class: "live-crank" }, this.ring.element, h("div", {}, this.where, this.sum)),
      this.warning,
      this.buttons(),
      this.marks,
      ...this.lines,
      ...this.adjusters.flat().map((one) => one.element),
      signs(data),
      this.spoken,
    );
    this.told = h("p", { class: "live-tapped", role: "status" });
    this.root.replaceChildren(h("div", { class: "live" }, h("div", { class: "live-seen" }, this.pictures, this.told), panel));
    const centre = () => this.ring.centre;
    dragTurns(this.ring.element, centre, (swept) => this.sweep(swept));
    this.ring.element.addEventListener("keydown", (event) => this.key(event));
  }

  buttons() {
    this.play = h("button", { type: "button", class: "main", text: "Turn two turns", click: () => this.pressPlay() });
    const far = this.data.belts.map((belt) => belt.realign_turns).find((turns, at) => turns > 2 && this.data.belts[at].lines.length);
    return h(
      "div",
      { class: "actions live-actions" },
      this.play,
      h("button", { type: "button", text: "¼ turn on", click: () => this.jump(this.hand.crank + 90) }),
      far && h("button", { type: "button", text: `To where the lines meet (${far} turns)`, click: () => this.jump(360 * far) }),
      h("button", { type: "button", text: "Back to the start", click: () => this.restart() }),
    );
  }

  /** Draw the belts for the width there is. */
  draw() {
    const width = Math.max(Math.floor(this.pictures.clientWidth), NARROW);
    if (width === this.width) return;
    this.width = width;
    const tallest = Math.min(TALLEST, Math.max(380, window.innerHeight * 0.8));
    this.drawings = this.data.belts.map((belt) =>
      belt.pulleys.length ? new Drawing(this.data, belt, Math.min(width, 640), tallest, this.moved) : null,
    );
    this.pictures.replaceChildren(...this.data.belts.flatMap((belt, at) => this.figure(belt, this.drawings[at])));
    this.drawings.forEach((drawing) => drawing?.handle && this.grip(drawing));
    this.drawings.forEach((drawing) => drawing && tapped(drawing, (id) => this.chosen(id)));
    this.show();
  }

  figure(belt, drawing) {
    const title = this.data.belts.length > 1 ? [h("h3", { text: `Belt ${belt.id}` })] : [];
    const notes = belt.said.map((text) => h("p", { class: "small", text }));
    if (!drawing) return [...title, h("p", { text: `In the order of travel: ${belt.order.join(", ")}.` }), ...notes];
    return [...title, drawing.svg, ...notes];
  }

  grip(drawing) {
    const centre = () => {
      const box = drawing.svg.getBoundingClientRect();
      const factor = box.width / drawing.scene.width;
      return [box.left + drawing.crankCentre[0] * factor, box.top + drawing.crankCentre[1] * factor];
    };
    dragTurns(drawing.handle, centre, (swept) => this.sweep(swept));
  }

  /** Say of a wheel what it is, and offer to change it where the page lets it be changed. */
  tell(id) {
    const { edit } = this.root.dataset;
    const change = edit && h("a", { class: "plain", href: `${edit}#${encodeURIComponent(id)}`, text: "Change it" });
    this.told.replaceChildren(...[h("span", { text: wheelWords(this.data, id) }), change].filter(Boolean));
  }

  sweep(swept) {
    this.jump(this.hand.crank + swept * this.data.crank_sense);
  }

  key(event) {
    const asked = keyTurn(event);
    if (asked === null) return;
    event.preventDefault();
    if (asked === "start") this.restart();
    else this.jump(this.hand.crank + asked);
  }

  /** Turn to an angle by hand: what plays stops. */
  jump(crank) {
    this.player.stop();
    this.to(Math.round(crank * 1e6) / 1e6);
  }

  restart() {
    this.player.stop();
    this.hand.reset();
    this.show();
  }

  pressPlay() {
    if (this.player.running) {
      this.player.stop();
      return;
    }
    this.playing(true);
    this.player.start(this.hand.crank, 720);
  }

  playing(on) {
    say(this.play, on ? "Stop" : "Turn two turns");
  }

  to(crank) {
    this.hand.to(crank);
    this.show();
  }

  adjust(belt, tensioner, row) {
    if (tensioner.travel.x[row] !== null) this.moved = { ...this.moved, [tensioner.pulley]: row };
    this.drawings[this.data.belts.indexOf(belt)]?.adjust(this.moved, this.hand.crank);
    this.show();
  }

  /** Show everything at the crank angle there is. */
  show() {
    const { crank } = this.hand;
    this.drawings.forEach((drawing) => drawing?.turn(crank));
    const words = crankWords(this.data, crank);
    this.ring.turn(crank, words);
    say(this.where, words);
    const marks = marksWords(this.data, crank);
    say(this.sum, marks.sum);
    this.sum.classList.toggle("back", marks.all);
    this.list(marks.rows);
    this.data.belts.forEach((belt, at) => this.sayLines(belt, at, crank));
    const back = backWords(this.data, this.hand);
    say(this.warning, back);
    this.warning.hidden = !back;
    this.announce();
  }

  list(rows) {
    while (this.marks.children.length < rows.length) this.marks.append(h("li"));
    rows.forEach((text, at) => say(this.marks.children[at], text));
  }

  sayLines(belt, at, crank) {
    const drawing = this.drawings[at];
    const parts = [linesWords(belt, crank), drawing ? teethWords(drawing.laid, crank) : ""].filter(Boolean);
    const name = this.data.belts.length > 1 && parts.length ? `Belt ${belt.id}: ` : "";
    say(this.lines[at], name + parts.join(" "));
  }

  /** The whole state in a few sentences, for those who do not see it. */
  summary() {
    const marks = marksWords(this.data, this.hand.crank);
    const tensions = this.adjusters.flat().filter((one) => one.travel).map((one) => one.words.textContent);
    return [this.where.textContent, marks.sum, ...tensions].join(" ");
  }

  close() {
    this.player.stop();
    this.watcher.disconnect();
  }
}

for (const root of document.querySelectorAll("[data-live-drive]")) {
  root.liveDrive = new LiveDrive(root, JSON.parse(root.dataset.liveDrive));
}
