// A wheel and a fastener of a list drive, each as a row.

import { h } from "./dom.js";
import { chosen, keys, small, ticked, typed } from "./list_parts.js";

const clockWords = (hour) => `${hour === 0 ? 12 : hour} o'clock`;
const ELSEWHERE = "elsewhere";

/** The row of a wheel; `page` redraws, `page.changed` only asks anew. */
export function wheelRow(page, wheel, at) {
  const { offered, answers } = page;
  const role = at === 0 ? "crankshaft" : offered.wheels.find((one) => one.name === wheel.name)?.role;
  const phased = offered.phased.includes(role);
  const parts = [];
  if (role !== "tensioner") {
    parts.push(
      typed(offered.needs_teeth.includes(role) ? "Teeth" : "Teeth (none: smooth)", wheel.teeth, `wheels.${at}.teeth`, (value) => {
        page.teeth(wheel, value);
      }, "-"),
    );
  }
  if (phased) parts.push(...proof(page, wheel, at));
  const moving = at
    ? h(
        "div",
        { class: "row-keys" },
        at > 1 && small("↑", () => page.move(answers.wheels, at, -1), `${wheel.name} one earlier`),
        at < answers.wheels.length - 1 && small("↓", () => page.move(answers.wheels, at, 1), `${wheel.name} one later`),
        small("Take off", () => page.drop(answers.wheels, at), `Take ${wheel.name} off`),
      )
    : null;
  return h("li", { class: "list-row" }, h("h3", { text: `${at + 1}. ${wheel.name}` }), h("div", { class: "row-parts" }, ...parts), moving);
}

/** Which of the keys of a mark is on; none before anybody said where it is. */
function markKey(wheel, noMark) {
  if (wheel.elsewhere || wheel.mark_hour > 0) return ELSEWHERE;
  return wheel.mark_hour === 0 || wheel.mark_hour === noMark ? wheel.mark_hour : "";
}

function proof(page, wheel, at) {
  const { hours, no_mark: noMark } = page.offered;
  const place = `wheels.${at}.mark_hour`;
  const set = (value) => {
    wheel.elsewhere = value === ELSEWHERE;
    wheel.mark_hour = value === ELSEWHERE ? null : value;
    page.redraw();
  };
  const at12 = [hours[0], clockWords(hours[0])];
  const mark = [keys("Where is its mark? From the sheet", [at12, [ELSEWHERE, ELSEWHERE], [noMark, "no mark"]], markKey(wheel, noMark), set, place)];
  if (markKey(wheel, noMark) === ELSEWHERE) {
    const others = [["", "choose"], ...hours.slice(1).map((hour) => [hour, clockWords(hour)])];
    mark.push(
      chosen("Mark at", others, wheel.mark_hour ?? "", `${place} clock`, (value) => {
        wheel.mark_hour = value === "" ? null : Number(value);
        page.changed();
      }),
    );
  }
  const pins = [["", "no pin"], ...page.offered.pin_purposes.map((one) => [one, `pin to ${one}`])];
  const pin = chosen("Pin", pins, wheel.pin ?? "", `wheels.${at}.pin`, (value) => {
    wheel.pin = value;
    page.redraw();
  });
  if (!wheel.pin) return [...mark, pin];
  const size = typed("Size of the pin", wheel.pin_mm ?? "", `wheels.${at}.pin_mm`, (value) => {
    wheel.pin_mm = value;
    page.changed();
  }, "mm");
  return [...mark, pin, size];
}

/** The row of a fastener. */
export function boltRow(page, bolt, at) {
  const { offered, answers } = page;
  const set = (key) => (value) => {
    bolt[key] = value;
    page.changed();
  };
  const threads = [["", "not said"], ...offered.threads.map((one) => [one, one])];
  const wheel = answers.wheels.find((one) => `${one.name} bolt` === bolt.name);
  const role = wheel && (offered.wheels.find((one) => one.name === wheel.name)?.role ?? "crankshaft");
  const ticks = [
    ticked("renewed each time", bolt.single_use, set("single_use")),
    offered.phased.includes(role) && ticked("wheel without key: it alone holds it", bolt.holds, set("holds")),
  ];
  return h(
    "li",
    { class: "list-row" },
    h("h3", { text: bolt.name }),
    h(
      "div",
      { class: "row-parts" },
      typed("Torque", bolt.torque_nm, `bolts.${at}.torque_nm`, set("torque_nm"), "N·m"),
      typed("then angle", bolt.angle_deg, `bolts.${at}.angle_deg`, set("angle_deg"), "°"),
      chosen("Thread", threads, bolt.thread, `bolts.${at}.thread`, set("thread")),
      chosen("How many", offered.counts.map((one) => [one, String(one)]), bolt.count, `bolts.${at}.count`, set("count")),
    ),
    h("div", { class: "keys" }, ...ticks.filter(Boolean)),
    h("div", { class: "row-keys" }, small("Take off", () => page.drop(answers.bolts, at), `Take ${bolt.name} off`)),
  );
}

/** Keys for the tensioner: its kind, how it is set, which way it tightens, how long to wait. */
export function tensionerKeys(page) {
  const { offered, answers } = page;
  const set = (key) => (value) => {
    answers[key] = value;
    page.changed();
  };
  const kinds = offered.kinds.map((one) => [one.kind, one.words]);
  const kind = keys("What kind of tensioner?", kinds, answers.kind, (value) => {
    answers.kind = value;
    answers.setting = offered.kinds.find((one) => one.kind === value).settings[0][0];
    page.redraw();
  });
  const found = offered.kinds.find((one) => one.kind === answers.kind);
  if (!found) return [kind];
  const waits = offered.waits_min.map((one) => [one, one ? `${one} min` : "no wait"]);
  return [
    kind,
    keys("How is it set?", found.settings, answers.setting, set("setting")),
    keys("Which way does it tighten?", [["", "not known"], ...offered.ways.map((one) => [one, one])], answers.tightens, set("tightens")),
    keys("Wait before the last reading?", waits, answers.wait_min, set("wait_min")),
  ];
}
