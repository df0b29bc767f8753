// A recording that is being analysed: how far it is, and its result when it is there.

const EVERY_MS = 400;
const AFTER_FAULT_MS = 3000;

async function follow(place) {
  const share = place.querySelector("[data-share]");
  const where = place.querySelector("[data-where]");
  let wait = EVERY_MS;
  try {
    const answer = await fetch(place.dataset.goingOn, { headers: { accept: "application/json" } });
    const told = answer.ok ? await answer.json() : null;
    if (!answer.ok || told.state !== "going on") return location.reload();
    share.value = told.share;
    const words = told.before ? `${told.before} before it.` : told.share ? `${Math.round(100 * told.share)} % done.` : "It takes a few seconds.";
    if (where.textContent !== words) where.textContent = words;
  } catch {
    where.textContent = "No connection to the bench; it goes on there.";
    wait = AFTER_FAULT_MS;
  }
  return setTimeout(() => follow(place), wait);
}

for (const place of document.querySelectorAll("[data-going-on]")) follow(place);
