"use strict";
// What waits on this phone as a file, to be brought in on any other; photos stand in it as base64 (RFC 4648).
(() => {
  const {store, outbox} = window.rindwatch;
  const MARK = "rindwatch outbox 1";

  function base64(buffer) {
    let text = "";
    const bytes = new Uint8Array(buffer);
    for (let start = 0; start < bytes.length; start += 0x8000) text += String.fromCharCode(...bytes.subarray(start, start + 0x8000));
    return btoa(text);
  }

  async function text() {
    const records = [];
    for (const {id, sort, words, type, entry, by, byName, savedMs} of await store.waiting()) {
      const content = sort === "photo" ? {bytes: base64(await store.content(id))} : {entry};
      records.push({id, sort, words, type, by, byName, savedMs, ...content});
    }
    return JSON.stringify({is: MARK, saved_at: new Date().toISOString(), records});
  }

  async function save() {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([await text()], {type: "application/json"}));
    link.download = `rindwatch-outbox-${new Date().toISOString().slice(0, 10)}.json`;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
  }

  // How many were brought in; those that the house has already cost nothing, for their ids are the same.
  async function bring(file) {
    const found = JSON.parse(await file.text());
    if (found.is !== MARK || !Array.isArray(found.records)) throw new TypeError("no file of waiting entries");
    const {person, name} = outbox.me();
    await store.add(found.records.map(({id, sort, words, type, entry, bytes}) => ({
      id, sort, words, type, by: person ?? "", byName: name ?? "",
      ...(sort === "photo" ? {bytes: Uint8Array.from(atob(bytes), (sign) => sign.charCodeAt(0)).buffer} : {entry}),
    })));
    outbox.flush(true);
    return found.records.length;
  }

  window.rindwatch.outboxFile = {text, save, bring};
})();
