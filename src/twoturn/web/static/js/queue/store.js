// What waits to be sent, kept by the browser in IndexedDB: letters in the order in which they were written.
// A letter: { id, key, url, job, words, who, made, state, fault, tries, labels } and body, or fields and file.
// Where the browser keeps nothing, they stay in this page alone and `lasting()` says so.

const NAME = "twoturn";
const LETTERS = "letters";
const LEASES = "leases";

let opened;
let held; // letters of a browser that keeps nothing

function open() {
  opened ??= new Promise((done) => {
    let request;
    try {
      request = indexedDB.open(NAME, 1);
    } catch {
      held = new Map();
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
    request.onerror = () => {
      held = new Map();
      done(null);
    };
  });
  return opened;
}

/** Whether letters outlast this page. */
export async function lasting() {
  return (await open()) !== null;
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

/** Keep a letter; resolves once it is on disk. */
export async function keep(letter) {
  if (await lasting()) return inside(LETTERS, "readwrite", (store) => store.add(letter));
  letter.id = Math.max(0, ...held.keys()) + 1;
  held.set(letter.id, letter);
  return letter.id;
}

/** All letters, oldest first. */
export async function all() {
  if (await lasting()) return inside(LETTERS, "readonly", (store) => store.getAll());
  return [...held.values()];
}

/** Change a letter that is still there; `change` gets it and alters it. */
export async function change(id, alter) {
  if (!(await lasting())) {
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
  if (!(await lasting())) {
    held.delete(id);
    return;
  }
  await inside(LETTERS, "readwrite", (store) => store.delete(id));
}

/** Take the turn until `until` [ms since 1970] for `holder`, unless somebody else has it; says whether it was given. */
export async function lease(name, holder, until) {
  if (!(await lasting())) return true;
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
