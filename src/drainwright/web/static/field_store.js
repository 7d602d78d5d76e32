"use strict";
// The device's own journal: SHA-256, UUIDv7, a chain of hashes in IndexedDB, and the outbox.
// Nothing here needs a secure page: no crypto.subtle, no randomUUID, no locks.
const Field = {};

(() => {
  // ---------------------------------------------------------------- SHA-256 (FIPS 180-4)
  const primes = [];
  for (let n = 2; primes.length < 64; n += 1) {
    if (primes.every((p) => n % p)) primes.push(n);
  }
  const fraction = (x) => ((x - Math.floor(x)) * 4294967296) | 0;
  const K = Int32Array.from(primes, (p) => fraction(Math.cbrt(p)));
  const START = Int32Array.from(primes.slice(0, 8), (p) => fraction(Math.sqrt(p)));
  const turn = (x, n) => (x >>> n) | (x << (32 - n));

  const block = (state, view, at, w) => {
    for (let i = 0; i < 16; i += 1) w[i] = view.getInt32(at + 4 * i);
    for (let i = 16; i < 64; i += 1) {
      const a = w[i - 15], b = w[i - 2];
      const s0 = turn(a, 7) ^ turn(a, 18) ^ (a >>> 3);
      const s1 = turn(b, 17) ^ turn(b, 19) ^ (b >>> 10);
      w[i] = (w[i - 16] + s0 + w[i - 7] + s1) | 0;
    }
    let [a, b, c, d, e, f, g, h] = state;
    for (let i = 0; i < 64; i += 1) {
      const s1 = turn(e, 6) ^ turn(e, 11) ^ turn(e, 25);
      const t1 = (h + s1 + ((e & f) ^ (~e & g)) + K[i] + w[i]) | 0;
      const s0 = turn(a, 2) ^ turn(a, 13) ^ turn(a, 22);
      const t2 = (s0 + ((a & b) ^ (a & c) ^ (b & c))) | 0;
      h = g; g = f; f = e; e = (d + t1) | 0; d = c; c = b; b = a; a = (t1 + t2) | 0;
    }
    [a, b, c, d, e, f, g, h].forEach((x, i) => { state[i] = (state[i] + x) | 0; });
  };

  Field.sha256 = (given) => {
    const bytes = typeof given === "string" ? new TextEncoder().encode(given) : given;
    const state = Int32Array.from(START), w = new Int32Array(64);
    const whole = bytes.length - (bytes.length % 64);
    const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
    for (let at = 0; at < whole; at += 64) block(state, view, at, w);
    const rest = bytes.length - whole;
    const tail = new Uint8Array(rest < 56 ? 64 : 128);
    tail.set(bytes.subarray(whole));
    tail[rest] = 0x80;
    const end = new DataView(tail.buffer);
    end.setUint32(tail.length - 8, Math.floor(bytes.length / 536870912));
    end.setUint32(tail.length - 4, (bytes.length << 3) >>> 0);
    for (let at = 0; at < tail.length; at += 64) block(state, end, at, w);
    return [...state].map((x) => (x >>> 0).toString(16).padStart(8, "0")).join("");
  };

  // ---------------------------------------------------------------- UUIDv7 (RFC 9562)
  Field.uuid7 = (now = Date.now()) => {
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    for (let i = 0; i < 6; i += 1) bytes[i] = Math.floor(now / 2 ** (8 * (5 - i))) % 256;
    bytes[6] = 0x70 | (bytes[6] & 0x0f);
    bytes[8] = 0x80 | (bytes[8] & 0x3f);
    const hex = [...bytes].map((b) => b.toString(16).padStart(2, "0")).join("");
    return [8, 12, 16, 20].reduceRight((text, at) => `${text.slice(0, at)}-${text.slice(at)}`, hex);
  };

  // ---------------------------------------------------------------- the database
  let db = null;
  Field.open = (project) => new Promise((resolve, reject) => {
    const asked = indexedDB.open(`drainwright field ${project}`, 1);
    asked.onupgradeneeded = () => {
      const made = asked.result;
      made.createObjectStore("entries", { keyPath: "number" });
      made.createObjectStore("others", { keyPath: "id" });
      made.createObjectStore("photos", { keyPath: "sha256" });
      made.createObjectStore("plans");
      made.createObjectStore("meta");
    };
    asked.onsuccess = () => {
      db = asked.result;
      db.onversionchange = () => db.close();
      resolve();
    };
    asked.onerror = () => reject(asked.error);
  });

  const done = (transaction, value) => new Promise((resolve, reject) => {
    transaction.oncomplete = () => resolve(value());
    transaction.onabort = () => reject(transaction.error || new Error("not stored"));
  });
  const write = (stores) => db.transaction(stores, "readwrite", { durability: "strict" });

  // One transaction reads the chain's head, makes text and hash, and stores entry, head and photo.
  // Two tabs take turns in it, so that no chain forks; nothing is awaited inside.
  Field.append = (event, photo = null) => {
    const started = performance.now();
    const transaction = write(["meta", "entries", "photos"]);
    const meta = transaction.objectStore("meta");
    let made = null;
    meta.get("head").onsuccess = (found) => {
      const head = found.target.result ||
        { device: `tablet-${Field.uuid7().slice(-8)}`, number: 0, sha256: "" };
      const text = JSON.stringify(event);
      made = {
        id: Field.uuid7(), device: head.device, number: head.number + 1, text,
        sha256: Field.sha256(head.sha256 + text),
      };
      transaction.objectStore("entries").add(made);
      if (photo) transaction.objectStore("photos").put(photo);
      meta.put({ device: made.device, number: made.number, sha256: made.sha256 }, "head");
    };
    return done(transaction, () => {
      Field.took = performance.now() - started;
      return made;
    });
  };

  const ask = (store, what) => new Promise((resolve, reject) => {
    const asked = what(db.transaction(store).objectStore(store));
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
  Field.meta = (key) => ask("meta", (store) => store.get(key));
  Field.setMeta = (key, value) => {
    const transaction = write(["meta"]);
    transaction.objectStore("meta").put(value, key);
    return done(transaction, () => value);
  };
  Field.plan = (key) => ask("plans", (store) => store.get(key));
  Field.keepPlan = (key, plan) => {
    const transaction = write(["plans"]);
    transaction.objectStore("plans").put(plan, key);
    return done(transaction, () => plan);
  };
  Field.entries = (after = 0) =>
    ask("entries", (store) => store.getAll(IDBKeyRange.lowerBound(after, true)));
  Field.others = () => ask("others", (store) => store.getAll());
  Field.photos = () => ask("photos", (store) => store.getAll());

  // ---------------------------------------------------------------- outbox
  const send = async (address, method, body, media) => {
    const stop = new AbortController();
    const timer = setTimeout(() => stop.abort(), 20000);
    try {
      const answer = await fetch(address, {
        method, body, signal: stop.signal, cache: "no-store",
        headers: media ? { "Content-Type": media } : {},
      });
      if (!answer.ok) throw Object.assign(new Error(`${answer.status}`), { status: answer.status });
      return await answer.json();
    } finally {
      clearTimeout(timer);
    }
  };
  Field.send = send;

  // Sends what the server lacks: the server's head of this device says where to go on.
  Field.upload = async () => {
    const head = await Field.meta("head");
    let sent = (await Field.meta("sent")) || 0;
    const before = Date.now();
    for (;;) {
      const batch = (await Field.entries(sent)).slice(0, 200);
      const told = await send("/field/-/upload", "POST", JSON.stringify({ entries: batch }),
        "application/json");
      Field.drift = Date.parse(told.now) - (before + Date.now()) / 2;
      const there = head ? told.heads[head.device] : null;
      const reached = there ? there.number : 0;
      await settle(head, there);
      const stuck = batch.length > 0 && reached <= sent;
      sent = reached;
      await Field.setMeta("sent", sent);
      if (!head || stuck || sent >= ((await Field.meta("head")).number)) break;
    }
    for (const one of await Field.photos()) {
      if (one.sent) continue;
      await send(`/field/-/photo?name=${encodeURIComponent(one.name)}`, "PUT", one.blob,
        "application/octet-stream");
      const transaction = write(["photos"]);
      transaction.objectStore("photos").put({ ...one, sent: true });
      await done(transaction, () => null);
    }
  };

  const settle = async (head, there) => {
    if (!head || !there) return;
    const own = (await ask("entries", (store) => store.get(there.number)));
    Field.torn = Boolean(there.number && (!own || own.sha256 !== there.sha256));
  };

  // Takes in what other devices entered on this lateral; keeps it beside, changes nothing.
  Field.listen = async (lateral) => {
    const key = `reached ${lateral}`;
    const own = ((await Field.meta("head")) || {}).device;
    let reached = (await Field.meta(key)) || {}, more = true, news = 0;
    while (more) {
      const told = await send("/field/-/since", "POST", JSON.stringify({ reached, lateral }),
        "application/json");
      const transaction = write(["others", "meta"]);
      for (const one of told.entries) {
        if (one.device === own) continue;
        transaction.objectStore("others").put(one);
        news += 1;
      }
      transaction.objectStore("meta").put(told.reached, key);
      ({ reached, more } = told);
      await done(transaction, () => null);
    }
    return news;
  };

  // The whole journal of this device, sent or not, as lines that are read in elsewhere.
  Field.outboxFile = async () => {
    const lines = (await Field.entries()).map((one) => JSON.stringify(one));
    return new Blob([lines.map((line) => `${line}\n`).join("")], { type: "application/x-ndjson" });
  };

  Field.waiting = async () => {
    const sent = (await Field.meta("sent")) || 0;
    const entries = await Field.entries(sent);
    const photos = (await Field.photos()).filter((one) => !one.sent).length;
    return { entries: entries.length, photos, oldest: entries[0] && JSON.parse(entries[0].text).at };
  };
})();
