// Loaded on every page.
import { startNumbers } from "./number.js";

startNumbers();
