// Loaded on every page.
import { startNumbers } from "./number.js";
import { startQueue } from "./queue/start.js";

startNumbers();
startQueue();
