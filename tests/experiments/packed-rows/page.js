// The browser's side: the same practice kept in two ways, with plain IndexedDB calls.
const done = (transaction) => new Promise((yes, no) => { transaction.oncomplete = yes; transaction.onabort = () => no(transaction.error); });
const answer = (request) => new Promise((yes, no) => { request.onsuccess = () => yes(request.result); request.onerror = () => no(request.error); });

const openAt = (name) => {
  const request = indexedDB.open(name, 1);
  request.onupgradeneeded = () => ['rows', 'packs', 'summaries', 'meta'].forEach((shelf) => request.result.createObjectStore(shelf));
  return answer(request);
};

// Sealed text does not compress and looks like base64: drawn from a pool of random bytes.
let pool = '';
const text = (length, n) => {
  if (!pool) for (let i = 0; i < 64; i++) pool += btoa(String.fromCharCode(...crypto.getRandomValues(new Uint8Array(3072))));
  const start = (n * 7919) % (pool.length - length);
  return pool.slice(start, start + length);
};
const key = (n) => `${String(n).padStart(16, '0')}-00000000000000000000000000000abc`;

// Fills a database in chunks. Relaxed: filling is not what is measured.
const fill = async (name, shelf, count, length, from = 0) => {
  const db = await openAt(name);
  for (let n = from; n < from + count;) {
    const transaction = db.transaction(shelf, 'readwrite', { durability: 'relaxed' });
    const store = transaction.objectStore(shelf);
    const end = Math.min(from + count, n + Math.max(200, Math.floor(5e6 / length)));
    for (; n < end; n++) store.add(text(length, n), key(n));
    await done(transaction);
  }
  db.close();
};

// Reads a whole shelf as the app does: keys and texts, in slices that one message can carry.
const readAll = async (db, shelf, slice, each = () => {}) => {
  let count = 0, after = null;
  for (;;) {
    const store = db.transaction(shelf).objectStore(shelf);
    const range = after === null ? null : IDBKeyRange.lowerBound(after, true);
    const keysAsked = store.getAllKeys(range, slice), textsAsked = store.getAll(range, slice);
    const texts = await answer(textsAsked), keys = keysAsked.result;
    if (!keys.length) return count;
    for (let i = 0; i < keys.length; i++) each(keys[i], texts[i]);
    count += keys.length;
    after = keys.at(-1);
  }
};

// Open, and read what the first screen needs. `keep`: everything read is held, as folds would.
const start = async (name, shelves, slice) => {
  const begun = performance.now();
  const db = await openAt(name);
  const held = (window.held = []);
  let read = 0;
  for (const shelf of shelves) read += await readAll(db, shelf, slice, (k, t) => held.push(k, t));
  const took = performance.now() - begun;
  window.db = db;
  return { took, read, heap: performance.memory.usedJSHeapSize };
};

// Strict appends, one row each, as taps at human speed.
const taps = async (count, from, length) => {
  const all = [];
  for (let n = from; n < from + count; n++) {
    await new Promise((next) => setTimeout(next, 50));
    const begun = performance.now();
    const transaction = db.transaction('rows', 'readwrite', { durability: 'strict' });
    transaction.objectStore('rows').add(text(length, n), key(n));
    transaction.commit();
    await done(transaction);
    all.push(performance.now() - begun);
  }
  return all.sort((a, b) => a - b);
};

// Everything into one Blob, as a copy to take out would be.
const takeOut = async (shelves, slice) => {
  const begun = performance.now();
  const parts = [];
  let lines = [];
  let read = 0;
  for (const shelf of shelves) {
    read += await readAll(db, shelf, slice, (k, t) => { lines.push(k, '\t', t, '\n'); if (lines.length > 40000) { parts.push(new Blob(lines)); lines = []; } });
  }
  parts.push(new Blob(lines));
  const blob = new Blob(parts);
  return { took: performance.now() - begun, read, bytes: blob.size };
};
