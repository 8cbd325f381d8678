"use strict";
// Ids for what is entered here: UUIDs of version 7 (RFC 9562, section 5.7), made without a server. The browser's own
// randomUUID makes version 4, and none at all over plain http.
(() => {
  let lastMs = 0, counter = 0;

  // ms: since 1970. counter: 12 bits, counted up within a millisecond so that ids keep the order of their making
  // (section 6.2, method 1). random: 8 bytes, of which 62 bits are used.
  function uuid7(ms, counter, random) {
    const bytes = new Uint8Array(16);
    for (let place = 5, rest = ms; place >= 0; place--, rest = Math.floor(rest / 256)) bytes[place] = rest % 256;
    bytes[6] = 0x70 | counter >> 8;
    bytes[7] = counter & 0xff;
    bytes.set(random, 8);
    bytes[8] = 0x80 | bytes[8] & 0x3f;
    const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
    return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
  }

  function newId() {
    const random = crypto.getRandomValues(new Uint8Array(10));
    const ms = Date.now();
    if (ms > lastMs) {
      lastMs = ms;
      counter = (random[8] << 8 | random[9]) & 0x7ff; // begins low, so that it has room to count up
    } else if (++counter > 0xfff) {
      lastMs++;
      counter = 0;
    }
    return uuid7(lastMs, counter, random.subarray(0, 8));
  }

  window.rindwatch.ids = {uuid7, newId};
})();
