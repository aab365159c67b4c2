/* The screens of laser and saw: marks parts without asking the workshop (so that marking works without the network),
   zooms the sheet by keys, wheel, buttons and two fingers, and starts or ends a sheet by one key. Without this script
   every part is a link and every act a form. */
"use strict";
(() => {
  const svg = document.querySelector("svg[data-zoom]");
  const root = document.querySelector("[data-laser]");

  // Zoom: the picture's own viewBox.
  if (svg) {
    const whole = svg.viewBox.baseVal;
    const all = { x: whole.x, y: whole.y, width: whole.width, height: whole.height };
    const set = (box) => {
      const width = Math.min(all.width, Math.max(all.width / 12, box.width));
      const height = width * all.height / all.width;
      const x = Math.min(all.x + all.width - width, Math.max(all.x, box.x));
      const y = Math.min(all.y + all.height - height, Math.max(all.y, box.y));
      svg.setAttribute("viewBox", `${x} ${y} ${width} ${height}`);
      svg.classList.toggle("zoomed", width < all.width - 1);
    };
    const spot = (event) => {
      const place = svg.getBoundingClientRect(), box = svg.viewBox.baseVal;
      return [(event.clientX - place.left) / place.width, (event.clientY - place.top) / place.height, box];
    };
    const zoom = (by, across = 0.5, up = 0.5) => {
      if (!by) { set(all); return; }
      const box = svg.viewBox.baseVal, width = Math.min(all.width, Math.max(all.width / 12, box.width / by));
      const height = width * all.height / all.width;
      set({ x: box.x + (box.width - width) * across, y: box.y + (box.height - height) * up, width });
    };
    const shift = (across, up) => { const box = svg.viewBox.baseVal; set({ x: box.x + across * box.width, y: box.y + up * box.height, width: box.width }); };
    document.querySelectorAll(".zooms").forEach((row) => { row.hidden = false; });
    document.addEventListener("click", (event) => { const button = event.target.closest("[data-zoom-by]"); if (button) zoom(Number(button.dataset.zoomBy)); });
    svg.addEventListener("wheel", (event) => {
      if (!event.ctrlKey && !svg.classList.contains("zoomed")) return;
      event.preventDefault();
      const [across, up] = spot(event);
      zoom(event.deltaY < 0 ? 1.25 : 0.8, across, up);
    }, { passive: false });
    const fingers = new Map();
    let apart = 0, moved = 0;
    svg.addEventListener("pointerdown", (event) => { fingers.set(event.pointerId, event); apart = 0; moved = 0; });
    svg.addEventListener("pointermove", (event) => {
      const before = fingers.get(event.pointerId);
      if (!before) return;
      const place = svg.getBoundingClientRect();
      if (fingers.size === 1 && svg.classList.contains("zoomed")) {
        moved += Math.hypot(event.clientX - before.clientX, event.clientY - before.clientY);
        shift((before.clientX - event.clientX) / place.width, (before.clientY - event.clientY) / place.height);
      }
      fingers.set(event.pointerId, event);
      if (fingers.size === 2) {
        const [one, other] = [...fingers.values()];
        const now = Math.hypot(one.clientX - other.clientX, one.clientY - other.clientY);
        moved += 20;
        if (apart) zoom(now / apart, ((one.clientX + other.clientX) / 2 - place.left) / place.width, ((one.clientY + other.clientY) / 2 - place.top) / place.height);
        apart = now;
      }
    });
    ["pointerup", "pointercancel", "pointerleave"].forEach((name) => svg.addEventListener(name, (event) => { fingers.delete(event.pointerId); apart = 0; }));
    // A finger that moved the sheet has not touched a part.
    svg.addEventListener("click", (event) => { if (moved > 12) { event.preventDefault(); event.stopPropagation(); } moved = 0; }, true);
    svg.addEventListener("touchmove", (event) => { if (event.touches.length > 1) event.preventDefault(); }, { passive: false });
    document.addEventListener("keydown", (event) => {
      if (event.ctrlKey || event.metaKey || event.altKey || event.target.matches("input, select, textarea")) return;
      if (event.key === "+" || event.key === "=") zoom(1.5);
      else if (event.key === "-") zoom(0.667);
      else if (event.key === "0") zoom(0);
      else if (svg.classList.contains("zoomed") && event.key.startsWith("Arrow")) shift({ ArrowLeft: -0.1, ArrowRight: 0.1 }[event.key] || 0, { ArrowUp: -0.1, ArrowDown: 0.1 }[event.key] || 0);
      else return;
      event.preventDefault();
    });
  }

  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || event.target.matches("input, select, textarea")) return;
    const button = document.querySelector(`[data-shortcut="${CSS.escape(event.key.toLowerCase())}"]`);
    if (button && !button.disabled && button.offsetParent) { event.preventDefault(); button.click(); }
  });

  if (!root) return;

  /* Marks stay on the device until the workshop has them: a reload, a battery or a closed tab loses none. waiting.js
     forgets them when the count is sent; a page of something counted forgets what is left of them. */
  const drawer = `workshop-marks ${root.dataset.marks}`, unsent = root.querySelector("[data-unsent]");
  const keepMarks = (values) => {
    try {
      if (values.length) localStorage.setItem(drawer, JSON.stringify(values));
      else localStorage.removeItem(drawer);
      if (unsent) unsent.hidden = !values.length;
    } catch { /* the device keeps nothing (a private window): marks last as long as the page */ }
  };
  const keptMarks = () => { try { return JSON.parse(localStorage.getItem(drawer)) || []; } catch { return []; } };
  if ("counted" in root.dataset) keepMarks([]);

  // Marks.
  const form = root.querySelector("form[data-finishes]"), section = root.querySelector("[data-marked]"), pattern = document.getElementById("bad-part");
  if (form && pattern) {
    const list = section.querySelector("ul"), bad = new Map();
    const reasons = [...pattern.content.querySelectorAll("[data-reason]")].map((one) => one.dataset.reason).filter(Boolean);
    list.querySelectorAll("li").forEach((row) => bad.set(row.dataset.part, row.dataset.why));
    const names = new Map([...svg.querySelectorAll("a[data-part]")].map((link) => [link.dataset.part, link]));
    const said = (id) => names.get(id).querySelector("title").textContent.replace(/, (waiting|marked)$/, "");
    const draw = () => {
      names.forEach((link, id) => {
        const is = bad.has(id);
        link.querySelector("path").setAttribute("class", `part ${is ? "marked" : "waiting"}`);
        link.setAttribute("aria-label", `${said(id)}, ${is ? "marked; mark as good" : "waiting; mark as bad"}`);
      });
      list.replaceChildren(...[...bad].map(([id, why]) => {
        const row = pattern.content.firstElementChild.cloneNode(true);
        row.dataset.part = id;
        row.firstElementChild.textContent = said(id);
        row.querySelector(".reasons").setAttribute("aria-label", `Why ${said(id)} is bad`);
        row.querySelectorAll("[data-reason]").forEach((one) => { if (one.dataset.reason === why) one.setAttribute("aria-current", "true"); });
        return row;
      }));
      section.hidden = bad.size === 0;
      section.querySelector("[data-count]").textContent = bad.size;
      form.querySelector("[data-said]").textContent = bad.size ? `, ${bad.size} bad` : "";
      form.querySelector("[data-bad]").replaceChildren(...[...bad].map(([id, why]) => Object.assign(document.createElement("input"), { type: "hidden", name: "bad", value: `${id}:${why}` })));
      const query = new URLSearchParams([...bad].map(([id, why]) => ["bad", `${id}:${why}`]));
      history.replaceState(null, "", bad.size ? `?${query}` : location.pathname);
      keepMarks([...bad].map(([id, why]) => `${id}:${why}`));
    };
    if (!bad.size) keptMarks().map((value) => value.split(":")).forEach(([id, why]) => { if (names.has(id)) bad.set(id, reasons.includes(why) ? why : reasons[0]); });
    if (bad.size) draw();
    const turn = (id) => { if (!bad.delete(id)) bad.set(id, reasons[0]); draw(); };
    root.addEventListener("click", (event) => {
      const part = event.target.closest("svg a[data-part]"), why = event.target.closest("[data-marked] [data-reason]"), one = event.target.closest("a[data-one]");
      if (!part && !why && !one) return;
      event.preventDefault();
      if (part) turn(part.dataset.part);
      else if (one) { const next = one.dataset.one.split(" ").find((id) => !bad.has(id)); if (next) turn(next); }
      else { const id = why.closest("li").dataset.part; if (why.dataset.reason) bad.set(id, why.dataset.reason); else bad.delete(id); draw(); }
    });
  }

  // At the saw a mark is a choice beside its piece.
  const choices = form ? [...root.querySelectorAll("select[name=bad]")] : [];
  const chosen = () => choices.map((choice) => choice.value).filter((value) => !value.endsWith(":"));
  if (choices.length && !chosen().length) {
    const before = new Set(keptMarks());
    choices.forEach((choice) => { const option = [...choice.options].find((one) => before.has(one.value)); if (option) choice.value = option.value; });
  }
  if (choices.length) keepMarks(chosen());
  choices.forEach((choice) => choice.addEventListener("change", () => keepMarks(chosen())));

  // The rest as it would be kept is drawn on the sheet.
  const showRest = () => {
    const chosen = form?.querySelector("[name=keep]:checked")?.value;
    root.querySelectorAll("[data-rest]").forEach((one) => { one.toggleAttribute("hidden", one.dataset.rest !== chosen); });
  };
  form?.addEventListener("change", showRest);
  if (form) showRest();

  // Started or finished: go on at once, whether the workshop has answered or will hear of it later.
  document.addEventListener("waiting:kept", ({ detail }) => {
    if ("begins" in detail.form.dataset && form) { detail.form.hidden = true; form.hidden = false; form.querySelector(".act").focus(); }
    if ("finishes" in detail.form.dataset) detail.form.hidden = true;
  });
  document.addEventListener("waiting:refused", () => { root.querySelectorAll("form[data-begins], form[data-finishes]").forEach((one) => { one.hidden = false; }); });
  document.addEventListener("waiting:sent", ({ detail: { entry, answer } }) => {
    if (entry.page !== location.pathname) return;
    location.assign(entry.path.endsWith("/begin/") ? answer.goes_to + location.search : answer.goes_to);
  });
})();
