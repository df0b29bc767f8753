// What is said of a drive that is turned: where the crankshaft is, which marks are back, when painted lines meet.

import { mod } from "./geometry.js";
import { toothWord } from "./drawing.js";
import { marksNow, toothAtMark, turnsToMeet } from "./turning.js";

/** A number with at most `decimals` decimals and a true minus sign. */
export function plain(value, decimals = 1) {
  const fixed = value.toFixed(decimals);
  const text = fixed.includes(".") ? fixed.replace(/\.?0+$/, "") : fixed;
  return (text === "-0" ? "0" : text).replace("-", "−");
}

const count = (turns) => `${plain(turns, 2)} ${Math.abs(turns - 1) < 0.005 ? "turn" : "turns"}`;

/** Where the crankshaft is. */
export function crankWords(drive, crank) {
  const past = mod(crank, 360);
  const near = Math.min(past, 360 - past);
  const where = near < 0.05 ? "in the setting position" : `${plain(past)}° past the setting position`;
  const turns = crank / 360;
  if (Math.abs(turns) < 0.0005) return `Crankshaft ${where}, not turned yet.`;
  if (turns < 0) return `Crankshaft ${where}, turned back ${count(-turns)}.`;
  return `Crankshaft ${where}, ${count(turns)} since the start, ${drive.crank_turns}.`;
}

/** How far each shaft is from its place, a sentence each; the last one is the sum. */
export function marksWords(drive, crank) {
  const { shafts, all } = marksNow(drive, crank);
  const rows = shafts.map((row) => `${row.id}: ${offWords(drive, row)}`);
  const unknown = shafts.some((row) => row.off === null);
  const marks = shafts.every((row) => row.marked) ? "marks are" : "shafts are";
  const back = marks === "marks are" ? "back" : "back in the setting position";
  const sum = all ? `All ${marks} ${back}.` : unknown ? `Whether all ${marks} ${back} is not known.` : `Not all ${marks} ${back}.`;
  return { rows, sum, all };
}

function offWords(drive, { id, marked, off, back }) {
  const place = marked ? "mark" : "setting position";
  if (off === null) return "how fast it turns is not known";
  if (back) return marked ? "back on its mark" : "back in its setting position";
  if (Math.abs(Math.abs(off) - 180) < 0.05) return "half a turn away";
  const { ratio } = drive.shafts.find((shaft) => shaft.id === id);
  const past = off * Math.sign(ratio[0]) * drive.crank_sense > 0;
  return `${plain(Math.abs(off))}° ${past ? "past" : "short of"} its ${place}`;
}

/** When the painted lines of a belt and the marks meet again. */
export function linesWords(belt, crank) {
  const left = turnsToMeet(belt, crank);
  if (left === null) return belt.lines_said;
  if (left === 0 && Math.abs(crank) > 1) return "Painted lines and marks meet here.";
  const togo = left === 0 ? "" : ` ${count(left)} to go.`;
  return `${belt.lines_said}${togo}`;
}

/** Which belt tooth stands at each fixed mark. */
export function teethWords(laid, crank) {
  const { belt } = laid;
  if (!belt.to_scale) return "";
  const rows = belt.pulleys
    .map((pulley, at) => ({ pulley, at }))
    .filter(({ pulley }) => pulley.mark_deg !== null)
    .map(({ pulley, at }) => `${toothWord(toothAtMark(laid, at, crank), belt.teeth)} at ${pulley.id}`);
  return rows.length ? `Belt tooth at each fixed mark: ${rows.join(", ")}.` : "";
}

/** The warning after a turn against the running direction; empty while there is none. */
export function backWords(drive, turning) {
  if (turning.backBy < 0.5) return "";
  const turns = drive.after_turns === 1 ? "one full turn" : `${drive.after_turns} full turns`;
  const left = Math.max(0, turning.needed - turning.crank);
  return (
    `Turned back ${plain(turning.backBy)}° with the belt on. Never turn against the running direction: ` +
    "the slack side runs tight, and the belt can jump a tooth. It voids earlier readings of marks, pointer, pins and note. " +
    `Turn on ${drive.crank_turns} ${turns} by hand, then check again: ${count(left / 360)} to go.`
  );
}

/** What a wheel is. */
export function wheelWords(drive, id) {
  const pulley = drive.belts.flatMap((belt) => belt.pulleys).find((one) => one.id === id);
  const role = pulley.role === id ? "" : `${pulley.role}, `;
  const size = pulley.teeth === null ? "smooth" : `${pulley.teeth} teeth`;
  const belt = drive.belts.find((one) => one.pulleys.includes(pulley));
  const wrap = belt.to_scale ? `, the belt lies round ${plain(pulley.wrap_deg, 0)}° of it` : "";
  return `${id}: ${role}${size}${wrap}.`;
}
