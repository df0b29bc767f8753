// Number fields: what was understood is shown with its unit before it counts. The bench judges; away from it, a plain
// number is read here.

const PLAIN = /^\s*[-+−]?\d+(?:[.,]\d+)?\s*$/;
const TWO_WAYS = /^\s*[-+−]?[1-9]\d{0,2}[.,]\d{3}\s*$/;
const WAIT_MS = 150;

/** What a field says without the bench: a plain number with its unit; nothing for what only the bench can tell. */
export function plainly(text, unit) {
  if (!PLAIN.test(text) || TWO_WAYS.test(text)) return "";
  const number = text.trim().replace("−", "-").replace(",", ".").replace(/^\+/, "");
  return unit && unit !== "-" ? `${number} ${unit}` : number;
}

async function ask(field) {
  const asked = new URLSearchParams({ text: field.value, unit: field.dataset.unit || "-" });
  if (field.dataset.low) asked.set("low", field.dataset.low);
  if (field.dataset.high) asked.set("high", field.dataset.high);
  if ("stages" in field.dataset) asked.set("stages", "yes");
  if ("whole" in field.dataset) asked.set("whole", "yes");
  const answer = await fetch(`/understood?${asked}`, { headers: { accept: "application/json" } });
  if (!answer.ok) throw new Error(String(answer.status));
  return answer.json();
}

function watch(field) {
  const said = document.getElementById(field.dataset.said ?? `u-${field.name}`);
  if (!said) return;
  let timer = 0;
  let turn = 0;
  const tell = (words, unclear) => {
    said.textContent = words;
    said.classList.toggle("unclear", unclear);
  };
  const look = async () => {
    const mine = ++turn;
    const text = field.value;
    if (!text.trim()) return tell("", false);
    try {
      const found = await ask(field);
      const said = found.ok && (field.dataset.unit || "-") === "-" ? "" : found.words;
      if (mine === turn) tell(said, !found.ok);
    } catch {
      if (mine === turn) tell(plainly(text, field.dataset.unit), false);
    }
    return undefined;
  };
  field.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(look, WAIT_MS);
  });
  if (field.value.trim() && field.getAttribute("aria-invalid") !== "true") look();
}

/** Watch every number field below `root`; call it again for parts that are added later. */
export function startNumbers(root = document) {
  for (const field of root.querySelectorAll('input[data-number]:not([data-number="later"])')) {
    if (field.dataset.watched) continue;
    field.dataset.watched = "yes";
    watch(field);
  }
}
