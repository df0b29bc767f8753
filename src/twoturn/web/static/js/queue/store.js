// What waits to be sent, kept by the browser in IndexedDB: letters in the order in which they were written.
// A letter: { id, key, url, job, words, who, made, state, fault, tries, labels } and body, or fields and file.
// What the browser does not keep, because it keeps nothing or has no room, stays in this page alone; `lasting()` says so.

const NAME = "twoturn";
const LETTERS = "letters";
const LEASES = "leases";

let opened;
/** Letters that the browser did not keep, with numbers below 0. */
const held = new Map();

function open() {
  opened ??= new Promise((done) => {
    let request;
    try {
      request = indexedDB.open(NAME, 1);
    } catch {
      done(null);
      return;
    }
    request.onupgradeneeded = () => {
      const letters = request.result.createObjectStore(LETTERS, { keyPath: "id", autoIncrement: true });
      letters.createIndex("key", "key", { unique: true });
      request.result.createObjectStore(LEASES, { keyPath: "name" });
    };
    request.onsuccess = () => {
      request.result.onversionchange = () => request.result.close();
      done(request.result);
    };
    request.onerror = () => done(null);
  });
  return opened;
}

const keeps = async () => (await open()) !== null;

/** Whether all letters outlast this page. */
export async function lasting() {
  return (await keeps()) && held.size === 0;
}

// Runs `act(store)` in one transaction; it is done when the transaction is on disk.
async function inside(name, mode, act) {
  const base = await open();
  return new Promise((done, failed) => {
    const transaction = base.transaction(name, mode, { durability: "strict" });
    const request = act(transaction.objectStore(name));
    transaction.oncomplete = () => done(request?.result);
    transaction.onabort = () => failed(transaction.error);
  });
}

/** Keep a letter; resolves once it is on disk, or in this page where the browser has no room for it or an older one. */
export async function keep(letter) {
  if (await lasting()) {
    try {
      return await inside(LETTERS, "readwrite", (store) => store.add(letter));
    } catch (error) {
      console.warn("kept in this page alone:", error);
    }
  }
  const id = Math.min(0, ...held.keys()) - 1;
  held.set(id, { ...letter, id });
  return id;
}

/** All letters, oldest first. */
export async function all() {
  const kept = (await keeps()) ? await inside(LETTERS, "readonly", (store) => store.getAll()) : [];
  return [...kept, ...held.values()];
}

/** Change a letter that is still there; `change` gets it and alters it. */
export async function change(id, alter) {
  if (id < 0) {
    const letter = held.get(id);
    if (letter) alter(letter);
    return;
  }
  await inside(LETTERS, "readwrite", (store) => {
    const request = store.get(id);
    request.onsuccess = () => {
      if (!request.result) return;
      alter(request.result);
      store.put(request.result);
    };
    return request;
  });
}

/** Let a letter go. */
export async function letGo(id) {
  if (id < 0) {
    held.delete(id);
    return;
  }
  await inside(LETTERS, "readwrite", (store) => store.delete(id));
}

/** Take the turn until `until` [ms since 1970] for `holder`, unless somebody else has it; says whether it was given. */
export async function lease(name, holder, until) {
  if (!(await keeps())) return true;
  let given = false;
  await inside(LEASES, "readwrite", (store) => {
    const request = store.get(name);
    request.onsuccess = () => {
      const found = request.result;
      given = !found || found.holder === holder || found.until < Date.now();
      if (given) store.put({ name, holder, until });
    };
    return request;
  });
  return given;
}
