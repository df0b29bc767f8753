// Faults of a drive's text as a list; a tap goes to the line.

import { h } from "./dom.js";

/** Show faults in `list`; `jump(line, number)` is called for a tapped one. */
export function showFaults(list, faults, jump) {
  list.replaceChildren(
    ...faults.map((fault, at) =>
      h(
        "li",
        {},
        h("button", {
          type: "button",
          class: "fault-line",
          text: `${fault.line ? `Line ${fault.line}: ` : ""}${fault.said}`,
          click: () => jump(fault.line ?? null, at),
        }),
      ),
    ),
  );
}

/** How many faults there are, in words. */
export function faultWords(faults) {
  if (!faults.length) return "No fault found.";
  return faults.length === 1 ? "One fault:" : `${faults.length} faults:`;
}

/** Select a line of a text field and bring it into view. */
export const goToLine = (field, line) => line !== null && select(field, line, line);

/** Select lines of a text field and bring them into view; `focus` false leaves the focus where it is. */
export function select(field, first, last, focus = true) {
  const lines = field.value.split("\n");
  const end = lines.slice(0, last).join("\n").length;
  const start = first > 1 ? lines.slice(0, first - 1).join("\n").length + 1 : 0;
  if (focus) field.focus();
  field.setSelectionRange(start, end);
  const high = parseFloat(getComputedStyle(field).lineHeight);
  field.scrollTop = Math.max(0, (first - 3) * high);
  field.scrollLeft = 0;
  if (focus) field.scrollIntoView({ block: "nearest" });
}
