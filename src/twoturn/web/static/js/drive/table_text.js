// One table of a drive's text: its plain keys with their values, and a value put in another's place.

const KEY = /^(\s*([A-Za-z_]+)\s*=\s*)("(?:[^"\\]|\\.)*"|\[[^[\]{}"]*\]|[^\s#"[{][^#]*?)(\s*(?:#.*)?)$/;

/** Number of the last line of the table that begins at line `first`: the one before the next table. */
export function lastLine(text, first) {
  const lines = text.split("\n");
  const next = lines.findIndex((line, at) => at >= first && /^\s*\[/.test(line));
  let last = next < 0 ? lines.length : next;
  while (last > first && !lines[last - 1].trim()) last -= 1;
  return last;
}

/** Plain keys of the table that begins at line `first`: `{ line, key, value, kind }`, the value as a person types it. */
export function plainKeys(text, first) {
  const lines = text.split("\n").slice(first, lastLine(text, first));
  return lines
    .map((line, at) => ({ line: first + at + 1, found: KEY.exec(line) }))
    .filter(({ found }) => found)
    .map(({ line, found }) => ({ line, key: found[2], ...typed(found[3]) }));
}

function typed(raw) {
  if (raw.startsWith('"')) return { kind: "text", value: JSON.parse(raw) };
  if (raw.startsWith("[")) return { kind: "list", value: raw.slice(1, -1).trim() };
  return { kind: "number", value: raw.trim() };
}

/** The text with another value for `key` on `line`; the text itself where another key stands there by now. */
export function withValue(text, { line, key, kind }, value) {
  const lines = text.split("\n");
  const found = KEY.exec(lines[line - 1] ?? "");
  if (!found || found[2] !== key) return text;
  lines[line - 1] = `${found[1]}${written(kind, value)}${found[4]}`;
  return lines.join("\n");
}

function written(kind, value) {
  if (kind === "text") return JSON.stringify(value);
  if (kind === "list") return `[${value}]`;
  const plain = value.trim().replace("−", "-");
  return /^[-+]?\d+,\d+$/.test(plain) ? plain.replace(",", ".") : plain || '""';
}
