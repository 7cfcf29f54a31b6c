// Entries that could not be sent yet, kept in this browser (IndexedDB) in the order they were made.
// Fields are pairs of name and value, for a form may send a name twice; a value may be a photograph,
// which the browser keeps as a file. An entry leaves the outbox only when the shop has it, or when a
// person dropped it after a conflict.

const STORE = "entries";

function opened() {
  return new Promise((done, failed) => {
    const asked = indexedDB.open("heelstamp-outbox", 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore(STORE, { keyPath: "number", autoIncrement: true });
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => failed(asked.error);
  });
}

async function inStore(mode, act) {
  const database = await opened();
  try {
    return await new Promise((done, failed) => {
      const transaction = database.transaction(STORE, mode, { durability: "strict" });
      const asked = act(transaction.objectStore(STORE));
      transaction.oncomplete = () => done(asked.result);
      transaction.onabort = transaction.onerror = () => failed(transaction.error);
    });
  } finally {
    database.close();
  }
}

// On a shared bench an entry is signed by who is signed in: it waits for the account that made it.
const account = document.documentElement.dataset.account;
export const meantFor = (by = account) => (by ? { "heelstamp-account": encodeURIComponent(by) } : {});
export const ours = (entry) => !entry.account || entry.account === account;

export function newId() {
  const random = crypto.getRandomValues(new Uint32Array(2));
  return `o-${[...random].map((n) => n.toString(16).padStart(8, "0")).join("").slice(0, 12)}`;
}

export const keep = (entry) => inStore("readwrite", (store) => store.add(account ? { account, ...entry } : entry));
export const waiting = () => inStore("readonly", (store) => store.getAll());
export const drop = (number) => inStore("readwrite", (store) => store.delete(number));
export const change = (entry) => inStore("readwrite", (store) => store.put(entry));

// Whether the shop asked to sign in first. Whoever sends keeps the entry then, as without a connection.
export let signedOut = false;

export async function send({ path, fields, account: by = account }) {
  const body = new FormData();
  for (const [name, value] of fields) body.append(name, value);
  const files = fields.some(([, value]) => value instanceof Blob);
  const answer = await fetch(path, {
    method: "POST",
    headers: meantFor(by),
    body: files ? body : new URLSearchParams(fields),
  });
  signedOut = answer.status === 401;
  if (signedOut) throw new Error("nobody is signed in");
  return answer;
}

let sending = false;

// Takes the newest entry that waits for a dossier out again; none while one is on its way.
export async function dropLast(dossier) {
  while (sending) await new Promise((done) => setTimeout(done, 50));
  const mine = (await waiting()).filter((one) => ours(one) && !one.refused && one.path.startsWith(dossier)).at(-1);
  if (mine) await drop(mine.number);
  return mine;
}

// Send what waits, oldest first. A refused entry stays, with what the shop said of it.
export async function flush(tell) {
  if (sending) return;
  sending = true;
  try {
    for (const entry of await waiting()) {
      if (entry.refused || !ours(entry)) continue;
      let answer;
      try {
        answer = await send(entry);
      } catch {
        break; // still no connection, or signed out
      }
      if (answer.ok) await drop(entry.number);
      else if (answer.status >= 500) break;
      else await change({ ...entry, refused: await answer.text() });
    }
  } finally {
    sending = false;
    tell(await waiting());
  }
}
