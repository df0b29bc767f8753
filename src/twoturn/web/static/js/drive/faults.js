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

/** Select a table of a drive's text, from its first line to the one before the next table. */
export function goToTable(field, first) {
  const lines = field.value.split("\n");
  const next = lines.findIndex((text, at) => at >= first && /^\s*\[/.test(text));
  let last = next < 0 ? lines.length : next;
  while (last > first && !lines[last - 1].trim()) last -= 1;
  select(field, first, last);
}

function select(field, first, last) {
  const lines = field.value.split("\n");
  const end = lines.slice(0, last).join("\n").length;
  const start = first > 1 ? lines.slice(0, first - 1).join("\n").length + 1 : 0;
  field.focus();
  field.setSelectionRange(start, end);
  const high = parseFloat(getComputedStyle(field).lineHeight);
  field.scrollTop = Math.max(0, (first - 3) * high);
  field.scrollLeft = 0;
  field.scrollIntoView({ block: "nearest" });
}
