// Shows on a sheet under /m/ what waits on this phone, catches forms that can wait, and starts the worker.
(() => {
  "use strict";
  const outbox = window.hardstand;
  const me = document.querySelector('meta[name="hardstand-user"]');
  const { worker, day, marks, signIn } = document.querySelector('link[rel="manifest"]').dataset;
  const made = new Date(me.dataset.made);
  const sheet = document.getElementById("sheet");


  const make = (name, props = {}, ...inside) => {
    const piece = Object.assign(document.createElement(name), props);
    piece.append(...inside);
    return piece;
  };
  const shape = (which) => {
    const mark = document.createElement("template");
    mark.innerHTML = `<svg aria-hidden="true" focusable="false"><use href="${marks}#${which}"/></svg>`;
    return mark.content;
  };
  const p = (...inside) => make("p", {}, ...inside);
  const list = (...items) => make("ul", { className: "lines" }, ...items);
  const sent = (which, words) => make("span", { className: "sent" }, shape(which), words);
  const clock = (moment) => moment.toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
  const when = (moment) => moment.toDateString() === new Date().toDateString() ? clock(moment)
    : `${moment.toLocaleDateString("en-GB", { weekday: "short", day: "numeric", month: "short" })}, ${clock(moment)}`;

  const state = (row) => {
    if (row.state === "safe") return sent("safe", `safe in the office ${clock(new Date(row.safeAt))}`);
    if (row.state === "attention") return sent("act", `needs attention: ${row.err}`);
    return outbox.status.sending === row.id ? sent("sending", "sending") : sent("here", "on this phone");
  };
  const item = (row) => {
    const li = make("li", {}, p(row.data.words ?? row.kind), p(state(row)));
    li.dataset.row = row.id;
    return li;
  };

  // A place that is filled anew at each change, made when there is first something in it.
  const places = new Map();
  const fill = (key, makePlace, ...inside) => {
    if (!places.get(key)?.isConnected) {
      if (!inside.length) return;
      places.set(key, makePlace());
    }
    const place = places.get(key);
    place.replaceChildren(...inside);
    place.hidden = !inside.length;
  };


  const counter = (waiting) => {
    const [which, words] = outbox.status.sending ? ["sending", "sending"]
      : waiting ? ["here", `${waiting} on this phone`] : ["safe", "nothing waits here"];
    fill("counter", () => {
      const link = make("a", { className: "sent-link", href: "#outbox" });
      link.setAttribute("aria-live", "polite");
      document.querySelector("header.strip").append(link);
      return link;
    }, sent(which, words));
  };

  // The server shows a note itself on a sheet made after its receipt.
  const onSheet = (row) => row.state === "safe" && made >= new Date(row.receipt.at);

  const beside = (form, rows) => {
    const shown = rows.filter((row) => row.user === me.content && String(row.card) === form.dataset.card && row.kind === form.dataset.outbox && !onSheet(row));
    fill(form, () => {
      const place = list();
      form.before(place);
      return place;
    }, ...shown.map(item));
  };

  const names = (others) => {
    const counted = new Map();
    others.forEach(({ name }) => counted.set(name, (counted.get(name) ?? 0) + 1));
    return [...counted].map(([name, count]) => p(`${count} of ${name} on this phone. Not sent until ${name} signs in here.`));
  };

  const board = (mine, others) => {
    const { locked, signal } = outbox.status;
    const lines = [];
    if (mine.length) {
      if (locked) lines.push(p(make("strong", {}, "Saved here. Sign in to send. "), make("a", { href: signIn }, "Sign in")));
      else if (!signal) lines.push(p("No signal. It goes by itself; keep this open until nothing waits."));
      lines.push(list(...mine.map(item)), make("button", { className: "btn full", type: "button", onclick: outbox.retry }, "Send now"));
    }
    lines.push(...names(others));
    fill("board", () => {
      const place = make("section", { className: "sheet" }), inside = make("div", { className: "pad" });
      place.id = "outbox";
      place.append(make("h2", { className: "head" }, "On this phone"), inside);
      sheet.append(place);
      return inside;
    }, ...lines);
    places.get("board")?.parentNode.toggleAttribute("hidden", !lines.length);
  };

  let safe = 0;
  const paint = async () => {
    const rows = await outbox.all();
    if (safe < (safe = rows.filter((row) => row.state === "safe").length)) keepToday(() => {}); // the kept sheets are behind now
    const waiting = rows.filter((row) => row.state !== "safe");
    const mine = waiting.filter((row) => row.user === me.content);
    counter(waiting.length);
    document.querySelectorAll("form[data-outbox]").forEach((form) => beside(form, rows));
    board(mine, waiting.filter((row) => row.user !== me.content));
  };

  // How old this sheet is. It stays as it is until the reader asks for the newer one.
  const asOf = (words, link) => fill("age", () => {
    const line = make("p", { className: "told" });
    line.id = "as-of";
    sheet.prepend(line);
    return line;
  }, `As of ${when(made)}${words}`, ...(link ? [make("a", { href: location.pathname }, "Show the newer one")] : []));

  /* ---- forms that can wait ---- */

  const refuse = (form, words) => fill(`err ${form.action}`, () => {
    const flag = make("strong", { className: "err" });
    flag.setAttribute("role", "alert");
    form.append(flag);
    return flag;
  }, ...(words ? [words] : []));

  const save = async (event) => {
    const form = event.target, { outbox: kind, card } = form.dataset;
    if (!kind) return;
    event.preventDefault();
    const button = form.querySelector("button");
    if (button.disabled) return; // a second tap
    const { csrfmiddlewaretoken, op_uid, ...data } = Object.fromEntries(new FormData(form));
    if (!Object.values(data).some((value) => value.trim())) return;
    button.disabled = true;
    try {
      await outbox.add(kind, /^\d+$/.test(card) ? Number(card) : card, data);
      form.reset();
      refuse(form, "");
    } catch (trouble) {
      refuse(form, `Not saved: this phone did not take it (${trouble?.name}). Your words are still here. Make room and save again.`);
    } finally {
      button.disabled = false;
    }
  };


  const keepToday = async (told) => {
    if (!navigator.serviceWorker) return;
    const { active } = await navigator.serviceWorker.ready, { port1, port2 } = new MessageChannel();
    port1.onmessage = ({ data }) => told(data[location.pathname]);
    active.postMessage("keep", [port2]);
  };
  const compare = (since) => {
    if (!old || !since) return;
    if (new Date(since) > made) asOf(". ", true);
    else asOf(`, the same in the office at ${clock(new Date())}`);
  };

  const old = Date.now() - made > 60_000;
  if (old) asOf(", kept on this phone");
  if ("serviceWorker" in navigator) navigator.serviceWorker.register(worker, { scope: day, updateViaCache: "none" }).then(() => keepToday(compare));
  if (!outbox) return;
  document.addEventListener("submit", save);
  document.addEventListener("hardstand:change", paint);
  document.addEventListener("htmx:after:swap", paint);
  paint();
})();
