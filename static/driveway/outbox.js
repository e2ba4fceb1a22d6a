// The outbox: what was saved on this phone, and the one sender. It shows nothing; page.js does.
// The rule that everything rests on: a row is safe only when the office's receipt names its id and the SHA-256 of its body.
(() => {
  "use strict";
  if (!(window.isSecureContext && window.indexedDB && crypto.subtle)) return; // then forms post as they are

  const me = document.querySelector('meta[name="hardstand-user"]');
  const { session, day } = document.querySelector('link[rel="manifest"]').dataset;
  const LONGEST_PAUSE = 60_000, PATIENCE = 20_000;
  const HEALED_BY_TIME = [408, 425, 429];

  class Later extends Error {} // no signal, or the office is busy: try again
  class Locked extends Error {} // only signing in helps


  let opening = null;
  const open = () => opening ??= new Promise((done, fail) => {
    const ask = indexedDB.open("hardstand", 1);
    ask.onupgradeneeded = () => {
      ask.result.createObjectStore("outbox", { keyPath: "seq", autoIncrement: true }).createIndex("id", "id", { unique: true });
      ask.result.createObjectStore("bytes"); // by row id, apart from the rows: painting a list loads no photo
      ask.result.createObjectStore("meta");
    };
    ask.onsuccess = () => {
      const db = ask.result;
      db.onversionchange = () => { db.close(); opening = null; };
      db.onclose = () => { opening = null; };
      done(db);
    };
    ask.onerror = () => { opening = null; fail(ask.error); };
  });

  // One transaction. Resolves only when the phone has committed it, with what `work` returned.
  const transact = async (stores, mode, work, again = true) => {
    const db = await open();
    let tx;
    try {
      tx = db.transaction(stores, mode, { durability: "strict" });
    } catch (closed) { // iOS closes the connection when memory is short
      opening = null;
      if (again) return transact(stores, mode, work, false);
      throw closed;
    }
    return new Promise((done, fail) => {
      const made = work(tx);
      tx.oncomplete = () => done(made instanceof IDBRequest ? made.result : made);
      tx.onabort = () => fail(tx.error);
    });
  };

  const all = () => transact(["outbox"], "readonly", (tx) => tx.objectStore("outbox").getAll());

  // Saves an entry. The body is written down as text, so that it is the same to the byte however often it is sent.
  const add = async (kind, card, data, bytes = null) => {
    const at = new Date().toISOString(), tz = Intl.DateTimeFormat().resolvedOptions().timeZone;
    const row = {
      id: crypto.randomUUID(), user: me.content, name: me.dataset.name, kind, card, data, at, tz,
      state: "here", tries: 0, err: "", receipt: null,
    };
    await transact(["outbox", "bytes", "meta"], "readwrite", (tx) => {
      const meta = tx.objectStore("meta");
      meta.get("phone").onsuccess = ({ target }) => {
        const phone = target.result ?? { device: crypto.randomUUID(), number: 0 };
        phone.number += 1; // the office sees a gap
        meta.put(phone, "phone");
        row.body = JSON.stringify({ kind, card, data, at, tz, ...phone });
        tx.objectStore("outbox").add(row);
        if (bytes) tx.objectStore("bytes").put(bytes, row.id);
      };
    });
    changed();
    send();
    return row;
  };

  const change = (row, what) => transact(["outbox", "bytes"], "readwrite", (tx) => {
    tx.objectStore("outbox").put(Object.assign(row, what));
    if (row.state === "safe") tx.objectStore("bytes").delete(row.id);
  });

  // Rows that are safe stay to be seen until midnight.
  const sweep = async () => {
    const today = new Date().toDateString();
    const old = (await all()).filter((row) => row.state === "safe" && new Date(row.safeAt).toDateString() !== today);
    if (old.length) await transact(["outbox"], "readwrite", (tx) => old.forEach((row) => tx.objectStore("outbox").delete(row.seq)));
  };

  /* ---- the sender ---- */

  const status = { sending: null, locked: false, signal: true };
  const changed = () => document.dispatchEvent(new Event("hardstand:change"));

  const ask = async (url, options = {}) => {
    let answer, text;
    try {
      answer = await fetch(url, { redirect: "manual", cache: "no-store", signal: AbortSignal.timeout(PATIENCE), ...options });
      text = await answer.text();
    } catch {
      throw new Later("no signal");
    }
    if (answer.type === "opaqueredirect" || answer.status === 401 || answer.status === 403) throw new Locked();
    const json = (answer.headers.get("Content-Type") ?? "").startsWith("application/json");
    if (answer.ok && !json) throw new Locked(); // somebody's sign-in page
    let said = {};
    try { said = json ? JSON.parse(text) : {}; } catch { throw new Later("half an answer"); }
    return { status: answer.status, said };
  };

  const sha256 = async (text) => {
    const sum = new Uint8Array(await crypto.subtle.digest("SHA-256", new TextEncoder().encode(text)));
    return Array.from(sum, (byte) => byte.toString(16).padStart(2, "0")).join("");
  };

  // Sends one row. True when it is settled: safe, or kept for a person to look at.
  const sendRow = async (row, csrf) => {
    const { status: code, said } = await ask(`${day}sync/op/${row.id}/`, {
      method: "PUT", body: row.body, headers: { "Content-Type": "application/json", "X-CSRFToken": csrf },
    });
    if (code >= 500 || HEALED_BY_TIME.includes(code)) return false;
    if (code >= 400) await change(row, { state: "attention", err: said.sentence ?? `The office did not take it (${code}).` });
    else if (said.id === row.id && said.body_sha === await sha256(row.body)) {
      await change(row, { state: "safe", err: "", receipt: said, safeAt: new Date().toISOString() });
    } else await change(row, { state: "attention", err: "The office’s receipt does not fit." });
    return true;
  };

  // In order for each card; a row that cannot go holds its own card only. True when nothing is left to send.
  const drain = async () => {
    const waiting = async () => (await all()).filter((row) => row.state !== "safe");
    if (!(await waiting()).length) return true;
    const { status: code, said } = await ask(session); // the real test whether there is signal, and who is signed in
    if (code !== 200) throw new Later("busy");
    Object.assign(status, { locked: false, signal: true });
    const held = new Set(), seen = new Set();
    let complete = true;
    for (;;) {
      const mine = (await waiting()).filter((row) => row.user === said.user);
      mine.forEach((row) => { if (row.state === "attention") held.add(row.card); });
      const row = mine.find((each) => !seen.has(each.id) && !held.has(each.card));
      if (!row) return complete;
      seen.add(row.id);
      status.sending = row.id;
      changed();
      if (!await sendRow(row, said.csrf)) {
        complete = false;
        held.add(row.card);
        await change(row, { tries: row.tries + 1 });
      }
    }
  };

  let timer = 0, failures = 0, running = null, again = false;
  const pause = () => Math.min(LONGEST_PAUSE, 1000 * 2 ** failures) * (0.5 + Math.random() / 2);

  const attempt = async () => {
    clearTimeout(timer);
    try {
      failures = await drain() ? 0 : failures + 1;
    } catch (trouble) {
      failures += 1;
      status.signal = status.locked = trouble instanceof Locked;
    }
    status.sending = null;
    changed();
    if (failures) timer = setTimeout(send, pause());
  };

  // One sender over all tabs. A call while it runs makes it run once more.
  const send = () => {
    if (running) { again = true; return running; }
    running = (navigator.locks ? navigator.locks.request("hardstand-sender", attempt) : attempt()).finally(() => {
      running = null;
      if (again) { again = false; send(); }
    });
    return running;
  };

  // The button: rows that needed a look go once more.
  const retry = async () => {
    for (const row of await all()) if (row.state === "attention" && row.user === me.content) await change(row, { state: "here", err: "" });
    return send();
  };

  window.hardstand = { add, all, send, retry, status };
  const now = () => { failures = 0; send(); };
  addEventListener("pageshow", now);
  addEventListener("online", now);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) now(); });
  sweep().catch(() => {}).then(send);
})();
