"use strict";
// What was entered on this phone, kept in the browser's own database until the house has it, and a while longer.
//   outbox  what waits, in order; bytes: the photos of it
//   done    entries of the last days, so that a page that is older than they are can show them
//   told    what the house flagged, until somebody has seen it
(() => {
  const NAME = "rindwatch", VERSION = 1;
  const DONE_FOR_MS = 3 * 86400e3;
  let opening = null;

  function build(db) {
    db.createObjectStore("outbox", {keyPath: "id"}).createIndex("order", "order");
    db.createObjectStore("bytes", {keyPath: "id"});
    db.createObjectStore("done", {keyPath: "id"});
    db.createObjectStore("told", {keyPath: "id"});
  }

  function open() {
    opening ??= new Promise((resolve, reject) => {
      const asked = indexedDB.open(NAME, VERSION);
      asked.onupgradeneeded = () => build(asked.result);
      asked.onblocked = () => reject(new Error("another page holds the store"));
      asked.onerror = () => reject(asked.error);
      asked.onsuccess = () => {
        const db = asked.result;
        const forget = () => { opening = null; };
        db.onversionchange = () => { db.close(); forget(); };
        db.onclose = forget;
        resolve(db);
      };
    }).catch((error) => { opening = null; throw error; });
    return opening;
  }

  const answer = (request) => new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });

  // Resolves only when the browser says that the whole transaction is on the disk.
  async function run(stores, mode, work) {
    const db = await open();
    const transaction = db.transaction(stores, mode, {durability: "strict"});
    const whole = new Promise((resolve, reject) => {
      transaction.oncomplete = () => resolve();
      transaction.onabort = () => reject(transaction.error ?? new Error("the store took nothing"));
    });
    try {
      const result = await work(...stores.map((name) => transaction.objectStore(name)));
      await whole;
      return result;
    } catch (error) {
      whole.catch(() => {});
      try { transaction.abort(); } catch { /* it ended already */ }
      throw error;
    }
  }

  async function nextOrder(outbox) {
    const last = await answer(outbox.index("order").openCursor(null, "prev"));
    return (last ? last.value.order : 0) + 1;
  }

  // records: {id, sort: "entry" or "photo", words, by, byName, entry or bytes and type, was: what the entry corrects}.
  // All of them, or none.
  const add = (records) => run(["outbox", "bytes", "done"], "readwrite", async (outbox, bytes, done) => {
    let order = await nextOrder(outbox);
    const savedMs = Date.now();
    for (const {bytes: content, ...record} of records) {
      outbox.put({...record, order: order++, savedMs, odd: null, size: content?.byteLength ?? 0});
      if (content) bytes.put({id: record.id, content});
      else done.put({id: record.id, entry: record.entry, was: record.was ?? null, words: record.words, by: record.by, savedMs, receivedAt: null});
    }
    prune(done, savedMs - DONE_FOR_MS);
  });

  function prune(done, beforeMs) {
    done.openCursor().onsuccess = ({target: {result: cursor}}) => {
      if (!cursor) return;
      if (cursor.value.receivedAt && cursor.value.savedMs < beforeMs) cursor.delete();
      cursor.continue();
    };
  }

  const waiting = () => run(["outbox"], "readonly", (outbox) => answer(outbox.index("order").getAll()));
  const content = async (id) => (await run(["bytes"], "readonly", (bytes) => answer(bytes.get(id))))?.content ?? null;

  // The house has it.
  const settle = (id, receivedAt, told) =>
    run(["outbox", "bytes", "done", "told"], "readwrite", async (outbox, bytes, done, flagged) => {
      outbox.delete(id);
      bytes.delete(id);
      const known = await answer(done.get(id));
      if (known) done.put({...known, receivedAt});
      if (told) flagged.put(told);
    });

  const change = (id, changes) => run(["outbox"], "readwrite", async (outbox) => {
    const known = await answer(outbox.get(id));
    if (known) outbox.put({...known, ...changes});
  });

  // Only when a person says so, of something that the house refused.
  const drop = (id) => run(["outbox", "bytes", "done"], "readwrite", async (...stores) => {
    for (const store of stores) store.delete(id);
  });

  const doneOne = (id) => run(["done"], "readonly", (store) => answer(store.get(id)));
  const done = () => run(["done"], "readonly", (store) => answer(store.getAll()));
  const told = () => run(["told"], "readonly", (store) => answer(store.getAll()));
  const untell = (id) => run(["told"], "readwrite", async (store) => { store.delete(id); });

  const works = async () => {
    try {
      await open();
      return true;
    } catch {
      return false;
    }
  };

  window.rindwatch.store = {add, waiting, content, settle, change, drop, done, doneOne, told, untell, works};
})();
