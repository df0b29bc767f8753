// Getting about: from "now" to its place, the whole list or one step at a time.

const KEY = "twoturn-way";
let root;
let broughtLast = null;

function chosen() {
  try {
    return localStorage.getItem(KEY);
  } catch {
    return null;
  }
}

const steps = () => [...root.querySelectorAll(".step")];
const current = () => root.querySelector(".step.current");

function show(step) {
  current()?.classList.remove("current");
  step?.classList.add("current");
  const all = steps();
  const at = all.indexOf(step);
  root.querySelector("[data-before]").disabled = at <= 0;
  root.querySelector("[data-after]").disabled = at < 0 || at >= all.length - 1;
}

function setWay(way) {
  root.dataset.way = way;
  for (const key of root.querySelectorAll("button[data-way]")) key.setAttribute("aria-pressed", String(key.dataset.way === way));
  root.querySelector("[data-turn-pages]").hidden = way !== "one";
  if (way === "one" && !current()) show(wanted() ?? steps()[0]);
}

function wanted() {
  const link = root.querySelector("#now a[data-go]");
  return link && document.getElementById(decodeURIComponent(link.hash.slice(1)))?.closest(".step");
}

/** Bring an element of the page to the eye and under the keys; with `near` itself, not its step from the start on. */
export function goTo(id, near = false) {
  const place = document.getElementById(id);
  if (!place) return;
  const step = place.closest(".step");
  if (step) show(step);
  const fold = place.querySelector(":scope > details.fold");
  if (fold) fold.open = true;
  place.focus({ preventScroll: true });
  bring(place, near ? place : step ?? place);
}

// A step comes from its number and its cautions on; tapped once more, on to a question that was too far down.
function bring(place, step) {
  const again = step === broughtLast && !isSeen(place);
  const to = again ? place : step;
  broughtLast = step;
  to.scrollIntoView({ block: "start" });
  requestAnimationFrame(() => to.scrollIntoView({ block: "start" })); // steps on the way have their true height now
}

function isSeen(place) {
  const { top } = place.getBoundingClientRect();
  return top >= root.querySelector(".now-place").offsetHeight && top < innerHeight * 0.75;
}

function turn(by) {
  const all = steps();
  const step = all[all.indexOf(current()) + by];
  if (step) goTo(step.id);
}

/** Begin, below `job`. */
export function startSteps(job) {
  root = job;
  root.querySelector("[data-ways]").hidden = false;
  root.addEventListener("click", (event) => {
    const link = event.target.closest("a[data-go]");
    if (link) {
      event.preventDefault();
      goTo(decodeURIComponent(link.hash.slice(1)));
      return;
    }
    const way = event.target.closest("button[data-way]")?.dataset.way;
    if (way) {
      try {
        localStorage.setItem(KEY, way);
      } catch {
        // It is chosen for this page alone then.
      }
      setWay(way);
    }
    if (event.target.closest("[data-before]")) turn(-1);
    if (event.target.closest("[data-after]")) turn(1);
  });
  addEventListener("hashchange", () => goTo(decodeURIComponent(location.hash.slice(1)), true));
  show(wanted());
  setWay(chosen() ?? "list");
  const watch = new ResizeObserver(([{ target }]) => {
    document.documentElement.style.setProperty("--now", `${target.offsetHeight}px`);
  });
  watch.observe(root.querySelector(".now-place"));
}
