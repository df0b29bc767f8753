// Sends one letter, and says what became of it.

const PATIENCE_MS = 20000;
const FILE_PATIENCE_MS = 300000;

/** Who is signed in here and the token in force; null without connection. */
export async function askHere() {
  try {
    const answer = await asked("/here", { headers: { accept: "application/json" } }, PATIENCE_MS);
    return answer.ok ? await answer.json() : null;
  } catch {
    return null;
  }
}

async function asked(url, options, patience) {
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), patience);
  try {
    return await fetch(url, { ...options, signal: stop.signal, credentials: "same-origin", redirect: "manual", cache: "no-store" });
  } finally {
    clearTimeout(timer);
  }
}

/**
 * Send a letter with the token `csrf`.
 * Outcome: { sent, answer } | { again, words } (no connection, in flight, the bench cannot now) | { signIn } | { fault }.
 */
export async function post(letter, csrf) {
  const headers = { accept: "application/json", "x-csrf": csrf, "idempotency-key": letter.key };
  let body;
  const waited = Math.max(0, (Date.now() - Date.parse(letter.made)) / 1000);
  if (letter.file || letter.fields) {
    body = new FormData();
    if (letter.file) body.append("waited_s", waited);
    for (const [name, value] of Object.entries(letter.fields ?? {})) for (const one of [value].flat()) body.append(name, one);
    if (letter.file) body.append("file", letter.file, letter.name);
  } else {
    headers["content-type"] = "application/json";
    body = JSON.stringify({ ...letter.body, waited_s: waited });
  }
  try {
    const patience = letter.file ? FILE_PATIENCE_MS : PATIENCE_MS;
    const answer = await asked(letter.url, { method: "POST", headers, body }, patience);
    return await outcome(answer);
  } catch {
    return { again: true, words: "no connection to the bench" };
  }
}

async function outcome(answer) {
  const said = await answer.json().catch(() => null);
  if (answer.ok && said) return { sent: true, answer: said };
  if (answer.ok) return { again: true, words: "something else answers at the bench's address" }; // such as a wifi's own sign-in
  if (answer.status === 401) return { signIn: true };
  const fault = said?.error ?? { sentence: `The bench answered with status ${answer.status}.` };
  if (answer.status === 409) return { again: true, words: "the bench is at it already" };
  if (answer.status === 429 || answer.status >= 500 || answer.type === "opaqueredirect") {
    return { again: true, words: fault.sentence };
  }
  return { fault: { status: answer.status, ...fault } };
}
