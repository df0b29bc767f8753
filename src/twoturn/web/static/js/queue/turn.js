// One page at a time sends: with the browser's locks where it has them, else with a lease that runs out by itself.
import { lease } from "./store.js";

const NAME = "twoturn-queue";
const LEASE_MS = 30000;
const ME = randomText();

/** A text nobody else has: 128 random bits. */
export function randomText() {
  return [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** Do `act` when it is this page's turn; false where another page is sending. `act` gets a function that prolongs it. */
export async function inTurn(act) {
  if (navigator.locks) {
    return navigator.locks.request(NAME, { ifAvailable: true }, async (lock) => {
      if (lock) await act(async () => true);
      return lock !== null;
    });
  }
  const prolong = () => lease(NAME, ME, Date.now() + LEASE_MS);
  if (!(await prolong())) return false;
  try {
    await act(prolong);
  } finally {
    await lease(NAME, ME, 0);
  }
  return true;
}
