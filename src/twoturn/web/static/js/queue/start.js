// Begins the queue on every page that has a place for it.
import { startSending } from "../queue.js";
import { startPanel } from "./panel.js";

/** Show what waits, and send it. */
export function startQueue() {
  const place = document.getElementById("waiting");
  if (!place) return;
  startPanel(place);
  startSending();
}
