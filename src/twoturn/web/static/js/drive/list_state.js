// The answers of a list drive as they grow, kept in this browser until the drive is saved.

import { forget, keep, keptOf } from "./kept.js";

const NAME = "list";

/** Answers to begin with: usual ones are set already, but no mark and no source. */
export function emptyAnswers() {
  return {
    name: "",
    source: "",
    crank_turns: "clockwise",
    belt_teeth: "",
    wheels: [{ name: "crankshaft", teeth: "", mark_hour: null }],
    kind: "",
    setting: "",
    tightens: "",
    wait_min: 0,
    after_turns: 2,
    bolts: [],
    interference: "unknown",
    fuel: "",
    km: "",
    months: "",
  };
}

/** Answers kept from before, or null. */
export function keptAnswers() {
  try {
    const found = JSON.parse(keptOf(NAME)?.text ?? "null");
    return found && Array.isArray(found.wheels) && found.wheels.length ? { ...emptyAnswers(), ...found } : null;
  } catch {
    return null;
  }
}

export const keepAnswers = (answers) => keep(NAME, JSON.stringify(answers));
export const forgetAnswers = () => forget(NAME);

/** A new wheel; teeth follow the crankshaft's where the engine leaves no choice. */
export function newWheel(offered, answers, name) {
  const role = offered.wheels.find((wheel) => wheel.name === name)?.role;
  const crank = Number(answers.wheels[0].teeth);
  const half = ["camshaft", "injection pump"].includes(role);
  const teeth = half && crank ? String(2 * crank) : role === "balance shaft" && crank ? String(crank / 2) : "";
  return offered.phased.includes(role) ? { name, teeth, mark_hour: null } : { name, teeth };
}

/** Teeth of the wheels that follow the crankshaft's, where nobody typed others. */
export function followCrank(offered, answers, before) {
  for (const wheel of answers.wheels.slice(1)) {
    const old = newWheel(offered, { wheels: [{ teeth: before }] }, wheel.name).teeth;
    if (wheel.teeth === old) wheel.teeth = newWheel(offered, answers, wheel.name).teeth;
  }
}
