// A few words for making HTML elements.

/** A new element; `class`, `text` and attributes in one object, functions are listeners. */
export function h(name, attributes = {}, ...children) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (key === "text") element.textContent = value;
    else if (typeof value === "function") element.addEventListener(key, value);
    else element.setAttribute(key, value === true ? "" : value);
  }
  element.append(...children.filter(Boolean));
  return element;
}

/** Write a text only where it changed, so that nothing is read out twice. */
export function say(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

/** Calls `action` once nothing happened for `wait` milliseconds. */
export function settled(action, wait) {
  let timer = null;
  return (...values) => {
    clearTimeout(timer);
    timer = setTimeout(() => action(...values), wait);
  };
}
