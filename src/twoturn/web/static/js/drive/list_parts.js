// Keys, fields and rows of the page that makes a list drive by taps.

import { h } from "./dom.js";

let count = 0;

/** One of several as big keys; `choices` are pairs of value and words, `place` is where a fault of it leads. */
export function keys(legend, choices, value, chosen, place = legend) {
  count += 1;
  const name = `keys-${count}`;
  const row = choices.map(([one, words]) =>
    h(
      "label",
      { class: "key" },
      h("input", { type: "radio", name, value: String(one), "data-key": `${place} ${one}`, checked: String(one) === String(value), change: () => chosen(one) }),
      h("span", { text: words }),
    ),
  );
  return h("fieldset", { class: "field" }, h("legend", { text: legend }), h("div", { class: "keys" }, ...row));
}

/** Keys that each add something. */
export function adders(legend, words, add) {
  const row = words.map((word) => h("button", { type: "button", text: `+ ${word}`, "data-key": `${legend} ${word}`, click: () => add(word) }));
  return h("div", { class: "field" }, h("p", { class: "label", text: legend }), h("div", { class: "keys" }, ...row));
}

/** A field to type into, a number by its unit; `place` is where a fault of it is told. */
export function typed(label, value, place, changed, unit = "") {
  count += 1;
  const id = `typed-${count}`;
  const input = h("input", {
    id,
    type: "text",
    inputmode: unit ? "decimal" : "text",
    value,
    "data-key": place,
    autocomplete: "off",
    maxlength: "120",
    "aria-describedby": `${id}-fault`,
    input: () => changed(input.value),
  });
  const inside = unit && unit !== "-" ? h("div", { class: "with-unit" }, input, h("span", { class: "unit", text: unit })) : input;
  const fault = h("p", { class: "fault", id: `${id}-fault`, "data-field": place, hidden: true });
  return h("div", { class: `field${unit ? " short" : ""}` }, h("label", { for: id, text: label }), inside, fault);
}

/** A choice from a longer list. */
export function chosen(label, choices, value, place, changed) {
  count += 1;
  const id = `chosen-${count}`;
  const options = choices.map(([one, words]) => h("option", { value: String(one), text: words, selected: String(one) === String(value) }));
  const select = h("select", { id, "data-key": place, change: () => changed(select.value) }, ...options);
  return h("div", { class: "field short" }, h("label", { for: id, text: label }), select);
}

/** A yes that is ticked. */
export function ticked(words, value, changed) {
  const input = h("input", { type: "checkbox", checked: value, change: () => changed(input.checked) });
  return h("label", { class: "key" }, input, h("span", { text: words }));
}

export const small = (words, click, label) =>
  h("button", { type: "button", class: "small-key", text: words, "aria-label": label, "data-key": label, click });
