// What stands in the form of a question: texts by field, files, and what a person calls the fields.

/** { given, files: [{ key, file, kind }], labels } of a form; fields that are not asked for are left out. */
export function collect(form) {
  const given = {};
  const files = [];
  const labels = {};
  for (const [name, value] of new FormData(form)) {
    if (!name.startsWith("g.")) continue;
    const key = name.slice(2);
    const input = form.elements[name];
    labels[key] = labelOf(input instanceof RadioNodeList ? input[0] : input);
    if (value instanceof File) {
      if (value.name) files.push({ key, file: value, kind: input.dataset.kind });
    } else if (value.trim()) {
      given[key] = key in given ? [].concat(given[key], value.trim()) : value.trim();
    }
  }
  return { given, files, labels };
}

function labelOf(input) {
  const field = input.closest(".field");
  const label = field?.querySelector("legend, label:not(.key)");
  return label?.firstChild?.textContent.trim() || input.name;
}

/** The answer in a few words, for the list of what waits. */
export function wordsOf(form, quick, { given, files }) {
  const said = quick ? [quick] : [...Object.values(given).flat(), ...files.map((one) => one.file.name)];
  return `${form.dataset.words}: ${said.join(", ")}`.slice(0, 200);
}

const isKept = (input) => (input.name.startsWith("g.") && input.type !== "file") || input.name === "replaces";

/** All that stands in a form's fields, and which entry it corrects, to put it back later: [[name, value, checked]]. */
export function stateOf(form) {
  return [...form.elements]
    .filter(isKept)
    .map((input) => [input.name, input.value, input.checked ?? null]);
}

/** Put back what stood in a form's fields. */
export function putBack(form, state) {
  const boxes = new Map(state.filter(([, , checked]) => checked !== null).map(([name, value, checked]) => [`${name} ${value}`, checked]));
  const texts = new Map(state.map(([name, value]) => [name, value]));
  for (const input of form.elements) {
    if (!isKept(input)) continue;
    if (input.type === "radio" || input.type === "checkbox") input.checked = boxes.get(`${input.name} ${input.value}`) ?? input.checked;
    else if (texts.has(input.name)) input.value = texts.get(input.name);
  }
}

/** Fill a form with what an entry says: a word that is none of a field's choices goes beside them. */
export function fillEntry(form, said) {
  const given = { ...said };
  for (const input of form.elements) {
    const key = input.name.startsWith("g.") && input.name.endsWith(".typed") && input.name.slice(2, -".typed".length);
    if (!key || !(key in said)) continue;
    const choices = [...form.elements].filter((one) => one.name === `g.${key}`).map((one) => one.value);
    given[`${key}.typed`] = [said[key]].flat().filter((value) => !choices.includes(value));
  }
  fillIn(form, given);
}

/** Fill a form with what a letter says. */
export function fillIn(form, given) {
  for (const input of form.elements) {
    if (!input.name.startsWith("g.") || input.type === "file") continue;
    const values = [given[input.name.slice(2)] ?? []].flat();
    if (input.type === "radio" || input.type === "checkbox") input.checked = values.includes(input.value);
    else input.value = values.join(", ");
  }
}
