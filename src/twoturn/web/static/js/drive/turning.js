// A drive turned on: where shafts, marks, painted lines and belt teeth are. The same sums as twoturn.drive.turning.
// `crank` is degrees turned on from the setting position in the running direction; it may be any number.

import { distanceToMark, lay, lineZero, mmPerTooth, mod, place } from "./geometry.js";

/** Centres of a belt's pulleys, those of its tensioners at the places of `moved` (index of a row of the travel). */
export function centresOf(belt, moved = {}) {
  return belt.pulleys.map((pulley) => {
    const tensioner = belt.tensioners.find((one) => one.pulley === pulley.id);
    const row = moved[pulley.id];
    const travel = tensioner && tensioner.travel;
    return travel && row !== undefined ? [travel.x[row], travel.y[row]] : [pulley.x, pulley.y];
  });
}

/** A belt on its wheels with its tensioners moved. */
export const laidOut = (belt, moved = {}) => lay(belt, centresOf(belt, moved));

/** How far a pulley has turned, clock angle, clockwise positive [degrees]. */
export function pulleyAngle(drive, pulley, crank) {
  const turned = crank * drive.crank_sense;
  return pulley.exact_ratio ? (turned * pulley.exact_ratio[0]) / pulley.exact_ratio[1] : turned * pulley.ratio;
}

/** Clock angle of a sprocket's timing mark, 0 to 360 [degrees]. */
export const markAngle = (drive, pulley, crank) => mod(pulley.mark_deg + pulleyAngle(drive, pulley, crank), 360);

/** How far a belt has travelled [teeth]; 0 where nothing says how fast it runs. */
export function movedTeeth(belt, crank) {
  const each = belt.teeth_per_turn;
  return each ? ((crank / 360) * each[0]) / each[1] : 0;
}

/** Where painted line `number` of a belt is. */
export const lineAt = (laid, number, crank) => place(laid, movedTeeth(laid.belt, crank) + number);

/** Number of the belt tooth that stands at the fixed mark of pulley `at`, a real number from 0 up to the belt's. */
export function toothAtMark(laid, at, crank) {
  const along = distanceToMark(laid, at, laid.belt.pulleys[at].mark_deg) - lineZero(laid);
  const number = mod(along / mmPerTooth(laid) - movedTeeth(laid.belt, crank), laid.belt.teeth);
  return laid.belt.teeth - number < 1e-9 ? 0 : number;
}

/** How far a shaft is from where its mark belongs, within half a turn [degrees of the shaft]; null where unknown. */
export function offMark(drive, shaft, crank) {
  if (!shaft.ratio) return null;
  const off = mod((crank * drive.crank_sense * shaft.ratio[0]) / shaft.ratio[1] + 180, 360) - 180;
  return Math.abs(off + 180) < 1e-9 ? 180 : off;
}

const BACK_DEG = 0.5;

/** Which shafts with a place to keep are back, and whether all of them are. */
export function marksNow(drive, crank) {
  const shafts = drive.shafts
    .filter((shaft) => shaft.phased)
    .sort((a, b) => Number(b.role === "crankshaft") - Number(a.role === "crankshaft"))
    .map((shaft) => ({ id: shaft.id, marked: shaft.marked, off: offMark(drive, shaft, crank) }))
    .map((row) => ({ ...row, back: row.off !== null && Math.abs(row.off) < BACK_DEG }));
  return { shafts, all: shafts.length > 0 && shafts.every((row) => row.back) };
}

/** Crank turns until painted lines and marks of a belt meet again; 0 when they do; null where it is not known. */
export function turnsToMeet(belt, crank) {
  const turns = belt.realign_turns;
  if (turns === null || !belt.lines.length) return null;
  const left = mod(-crank / 360, turns);
  return left < BACK_DEG / 360 || turns - left < BACK_DEG / 360 ? 0 : left;
}
