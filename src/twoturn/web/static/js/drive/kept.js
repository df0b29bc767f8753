// Text that was not saved yet, kept in this browser and offered again.

const PREFIX = "twoturn.drive.";

/** What is kept under a name: `{ text, at }`, or null. */
export function keptOf(name) {
  try {
    const kept = JSON.parse(localStorage.getItem(PREFIX + name));
    return kept && typeof kept.text === "string" ? kept : null;
  } catch {
    return null;
  }
}

/** Keep a text; a full or forbidden store is told by `false`. */
export function keep(name, text) {
  try {
    localStorage.setItem(PREFIX + name, JSON.stringify({ text, at: new Date().toISOString() }));
    return true;
  } catch {
    return false;
  }
}

/** Forget what is kept. */
export function forget(name) {
  try {
    localStorage.removeItem(PREFIX + name);
  } catch {
    // nothing could be kept either
  }
}

/** When it was kept, as this device writes times. */
export const whenKept = (kept) => new Date(kept.at).toLocaleString(undefined, { dateStyle: "medium", timeStyle: "short" });

const MADE = "list-text";

/** Remember which text the answers of a list drive made when it was sent. */
export const sentList = (text) => keep(MADE, text);

// A page that shows a saved text: what is kept of the same text is saved and can go, with the answers that made it.
for (const saved of document.querySelectorAll("[data-saved-drive]")) {
  for (const name of saved.dataset.savedDrive.split(" ")) {
    if (keptOf(name)?.text.trim() !== saved.textContent.trim()) continue;
    forget(name);
    if (name === MADE) forget("list");
  }
}
