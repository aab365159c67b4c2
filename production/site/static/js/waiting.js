/* Forms that wait on the device until the workshop has answered.

   A form[data-waits] is not sent but kept (IndexedDB), with a key of its own, and sent from there: in the order entered,
   each until it is answered. The workshop answers a key once and repeats that answer, so nothing is posted twice however
   often it is sent. What is refused stays, with the reason, until somebody mends or drops it; later entries about the
   same thing (data-subject) stay behind it. The page around it needs kernel/_waiting.html.

   data-prefix   begins the key (the server's own word for it)
   data-title    what the person reads, with {field} for what was entered
   data-subject  what it is about; entries about one thing keep their order even around a refusal
   Fields marked data-fresh are not filled in again when an entry is mended. */
"use strict";
(() => {
  const panel = document.getElementById("waiting");
  if (!panel || !window.indexedDB) return;
  const line = panel.querySelector(".state");
  const list = panel.querySelector(".entries");
  const LEFT_OUT = new Set(["csrfmiddlewaretoken", "key"]);
  const SHORT_PAUSE_MS = 5000, LONG_PAUSE_MS = 60000, PATIENCE_MS = 20000;
  const others = "BroadcastChannel" in window ? new BroadcastChannel("workshop-entries") : null;
  let trouble = "", pause = SHORT_PAUSE_MS, timer = 0, sending = false, lastSaid = sessionStorage.getItem("workshop-said") || "";
  sessionStorage.removeItem("workshop-said"); // left by the page that this entry led away from

  // The store.
  const opened = new Promise((resolve, reject) => {
    const asked = indexedDB.open("workshop-entries", 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore("entries", { keyPath: "id", autoIncrement: true }).createIndex("key", "key", { unique: true });
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
  const within = async (mode, work) => {
    const base = await opened;
    return new Promise((resolve, reject) => {
      const act = base.transaction("entries", mode, { durability: "strict" });
      const asked = work(act.objectStore("entries"));
      act.oncomplete = () => resolve(asked.result);
      act.onerror = act.onabort = () => reject(act.error);
    });
  };
  const all = () => within("readonly", (store) => store.getAll());
  const put = (entry) => within("readwrite", (store) => store.put(entry));
  const remove = (id) => within("readwrite", (store) => store.delete(id));

  const newKey = (prefix) => `${prefix}:${[...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0")).join("")}`;
  const filled = (text, fields) => (text || "").replace(/\{(\w+)\}/g, (whole, name) => (fields.find((field) => field[0] === name) || [])[1] || "?");
  const tell = (name, detail) => document.dispatchEvent(new CustomEvent(`waiting:${name}`, { detail }));

  // Keeping.
  const kept = async (form, submitter) => {
    const fields = [...new FormData(form, submitter)].filter(([name, value]) => !LEFT_OUT.has(name) && typeof value === "string");
    const entry = {
      key: form.dataset.mendsKey || newKey(form.dataset.prefix || "entry"),
      path: new URL(form.action, location.href).pathname,
      page: location.pathname,
      fields,
      title: filled(form.dataset.title, fields) || document.title,
      subject: filled(form.dataset.subject, fields),
      by: panel.dataset.person,
      made: Date.now(),
      state: "waiting",
      problems: [],
    };
    if (form.dataset.mends) entry.id = Number(form.dataset.mends);
    await put(entry);
    delete form.dataset.mends;
    delete form.dataset.mendsKey;
    return entry;
  };

  document.addEventListener("submit", async (event) => {
    const form = event.target;
    if (!form.matches("form[data-waits]") || event.defaultPrevented) return;
    event.preventDefault();
    if (form.dataset.keeping) return;
    form.dataset.keeping = "yes";
    try {
      const entry = await kept(form, event.submitter);
      tell("kept", { form, entry });
      others?.postMessage("changed");
      await draw();
      flush();
    } catch {
      form.submit(); // the device keeps nothing (a private window, a full disk): send it as a plain form
    } finally {
      delete form.dataset.keeping;
      delete form.dataset.sent; // workshop.js holds a form back for some seconds; the next entry is another one
    }
  });

  // Sending.
  const flush = async () => {
    clearTimeout(timer);
    if (navigator.locks) await navigator.locks.request("workshop-entries", { ifAvailable: true }, (lock) => lock && send());
    else if (!sending) { sending = true; try { await send(); } finally { sending = false; } }
    await draw();
    const left = (await all()).some((entry) => entry.state === "waiting");
    pause = left && trouble ? Math.min(pause * 2, LONG_PAUSE_MS) : SHORT_PAUSE_MS;
    if (left && trouble !== "signed out") timer = setTimeout(flush, pause);
  };

  const send = async () => {
    if (!(await all()).some((entry) => entry.state === "waiting")) { trouble = ""; return; }
    const who = await whoIsThere();
    if (!who) return;
    for (let entry; (entry = await first(who.person));) {
      await draw(entry);
      if (!(await sendOne(entry, who))) return;
      others?.postMessage("changed");
    }
  };

  /* The first that may go: not another person's, and not behind a refused one about the same thing. */
  const first = async (person) => {
    const held = new Set();
    for (const entry of await all()) {
      if (entry.state === "waiting" && entry.by === person && !(entry.subject && held.has(entry.subject))) return entry;
      if (entry.subject) held.add(entry.subject);
    }
    return null;
  };

  const ask = (address, options) => fetch(address, { credentials: "same-origin", redirect: "manual", cache: "no-store", signal: AbortSignal.timeout ? AbortSignal.timeout(PATIENCE_MS) : undefined, ...options });

  const whoIsThere = async () => {
    try {
      const response = await ask(panel.dataset.who, { headers: { Accept: "application/json" } });
      trouble = response.type === "opaqueredirect" ? "signed out" : response.ok ? "" : "error";
      return trouble ? null : await response.json();
    } catch {
      trouble = "away";
      return null;
    }
  };

  /* What a page kept of an entry while it was being filled in (laser.js) is in the workshop now. */
  const forgetMarks = (path) => { try { localStorage.removeItem(`workshop-marks ${path}`); } catch { /* nothing is kept there */ } };

  const REFUSED = { 403: "Your sign-in may not do this.", 404: "The workshop does not know this any more.", 413: "It is too long to send." };

  const sendOne = async (entry, who) => {
    const body = new URLSearchParams(entry.fields);
    body.set("key", entry.key);
    body.set("entered_by", entry.by);
    body.set("waited_s", String(Math.max(0, Math.floor((Date.now() - entry.made) / 1000))));
    let response;
    try {
      response = await ask(entry.path, { method: "POST", body, headers: { Accept: "application/json", "X-CSRFToken": who.token } });
      trouble = response.type === "opaqueredirect" ? "signed out" : response.status >= 500 ? "error" : "";
      if (trouble) return false;
      const isJson = (response.headers.get("Content-Type") || "").startsWith("application/json");
      const answer = isJson ? await response.json() : {};
      if (response.ok && isJson) {
        await remove(entry.id);
        forgetMarks(entry.path);
        lastSaid = answer.said;
        tell("sent", { entry, answer });
        return true;
      }
      const problems = (answer.problems || [{ what: REFUSED[response.status] || `The workshop answered with ${response.status}.` }]).map((problem) => problem.what);
      await put({ ...entry, state: "refused", problems });
      tell("refused", { entry });
      return true;
    } catch {
      trouble = "away";
      return false;
    }
  };

  // Showing.
  const count = (many, word) => `${many} ${word}${many === 1 ? "y" : "ies"}`;
  const made = (tag, text, name) => Object.assign(document.createElement(tag), { textContent: text || "", className: name || "" });
  const moment = (time) => new Date(time).toLocaleString("en-GB", { weekday: "short", hour: "2-digit", minute: "2-digit" });

  const sentence = (entries, now) => {
    const waiting = entries.filter((entry) => entry.state === "waiting").length;
    const refused = entries.length - waiting;
    const parts = [];
    if (waiting && now) parts.push(`Sending ${count(waiting, "entr")} …`);
    else if (waiting && trouble === "signed out") parts.push(`${count(waiting, "entr")} wait${waiting === 1 ? "s" : ""} for you to sign in.`);
    else if (waiting && trouble === "error") parts.push(`${count(waiting, "entr")} wait${waiting === 1 ? "s" : ""}: the workshop answered with an error and is asked again.`);
    else if (waiting && trouble === "away") parts.push(`${count(waiting, "entr")} wait${waiting === 1 ? "s" : ""} for the network. They are kept on this device.`);
    else if (waiting) parts.push(`${count(waiting, "entr")} wait${waiting === 1 ? "s" : ""}.`);
    if (refused) parts.push(`${count(refused, "entr")} ${refused === 1 ? "was" : "were"} refused.`);
    if (!entries.length && lastSaid) parts.push(lastSaid);
    return parts.join(" ");
  };

  const row = (entry) => {
    const item = made("li", "", entry.state);
    item.append(made("b", entry.title), made("small", ` ${moment(entry.made)}, ${entry.by}`));
    entry.problems.forEach((problem) => item.append(made("p", problem, "why-not")));
    if (entry.state === "waiting" && entry.by !== panel.dataset.person) item.append(made("p", `Sign in as ${entry.by} to send it.`, "why-not"));
    if (entry.state === "refused" || entry.by !== panel.dataset.person) item.append(acts(entry));
    return item;
  };

  const acts = (entry) => {
    const place = made("p", "", "acts");
    const drop = made("button", "Drop", "btn");
    drop.type = "button";
    drop.setAttribute("aria-label", `Drop: ${entry.title}`);
    drop.addEventListener("click", async () => {
      if (!window.confirm(`Drop “${entry.title}”? It will not be posted.`)) return;
      await remove(entry.id);
      others?.postMessage("changed");
      flush();
    });
    const mend = made("a", "Mend", "btn");
    mend.href = `${entry.page}?mend=${entry.id}`;
    mend.setAttribute("aria-label", `Mend: ${entry.title}`);
    place.append(mend, drop);
    return place;
  };

  const draw = async (now) => {
    const entries = await all();
    const text = sentence(entries, now);
    if (line.textContent !== text) line.textContent = text;
    if (trouble === "signed out" && entries.length) {
      const link = made("a", "Sign in", "btn");
      link.href = `${panel.dataset.signIn}?next=${encodeURIComponent(location.pathname)}`;
      line.append(" ", link);
    }
    panel.classList.toggle("some", entries.length > 0);
    list.hidden = entries.length === 0;
    list.replaceChildren(...entries.map(row));
  };

  // Mending: the entry's page is opened with its number, and its form filled in again.
  const mend = async () => {
    const id = Number(new URLSearchParams(location.search).get("mend"));
    if (!id) return;
    const entry = (await all()).find((one) => one.id === id);
    const form = entry && [...document.querySelectorAll("form[data-waits]")].find((one) => new URL(one.action, location.href).pathname === entry.path);
    if (!form) return;
    form.dataset.mends = String(entry.id);
    form.dataset.mendsKey = entry.key;
    entry.fields.forEach(([name, value]) => {
      const field = form.elements.namedItem(name);
      if (field && "value" in field && !field.dataset?.fresh) field.value = value;
    });
    history.replaceState(null, "", location.pathname);
    tell("mend", { form, entry });
  };

  // The worker keeps this page and those that links mark with data-keep.
  const keepPages = async () => {
    if (!navigator.serviceWorker || !panel.dataset.worker) return;
    const registration = await navigator.serviceWorker.register(panel.dataset.worker).catch(() => null);
    if (!registration) return;
    const ready = await navigator.serviceWorker.ready;
    const before = localStorage.getItem("workshop-person");
    if (before && before !== panel.dataset.person && navigator.onLine) ready.active.postMessage({ forget: true });
    localStorage.setItem("workshop-person", panel.dataset.person);
    const book = document.querySelector("[data-book]");
    const addresses = [location.pathname, ...[...document.querySelectorAll("a[data-keep]")].map((link) => link.pathname), ...(book ? [book.dataset.book] : [])];
    if (navigator.onLine) ready.active.postMessage({ keep: [...new Set(addresses)] });
  };
  navigator.serviceWorker?.addEventListener("message", (event) => { if (event.data?.kept) document.documentElement.dataset.kept = "yes"; });

  window.addEventListener("online", () => { pause = SHORT_PAUSE_MS; flush(); });
  window.addEventListener("offline", () => { trouble = "away"; draw(); });
  document.addEventListener("visibilitychange", () => { if (!document.hidden) flush(); });
  others?.addEventListener("message", () => draw());
  mend().then(flush);
  keepPages();
})();
