// The job's page: everything of it works without a connection once it is open.
import { onChange } from "../queue.js";
import { startAnswers } from "./answer.js";
import { startDepends } from "./depends.js";
import { startMend } from "./mend.js";
import { onFresh, startParts } from "./parts.js";
import { startSteps } from "./steps.js";
import { startTyped } from "./typed.js";

const root = document.querySelector("[data-job]");
const SHOWN = 3;
let waits = 0;

function tellOfOthers(news) {
  if (!news.length) return;
  const place = root.querySelector("#others");
  const said = news.slice(-SHOWN).map(({ by, words }) => `${by}: ${words}`);
  const more = news.length > SHOWN ? ` (and ${news.length - SHOWN} more)` : "";
  place.textContent = `Entered meanwhile elsewhere. ${said.join(" · ")}${more}`;
  place.hidden = false;
}

startTyped(root);
startDepends(root);
onChange((letters) => {
  waits = letters.filter((letter) => Number(letter.job) === Number(root.dataset.job) && letter.state === "waiting").length;
});
startParts(root, () => waits === 0);
startAnswers(root);
startSteps(root);
startMend(root);
onFresh(tellOfOthers);
