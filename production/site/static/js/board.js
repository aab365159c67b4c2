/* The board: walk it with the arrows, pick with Enter, drag a bar to another time; threads are drawn between bars. */
"use strict";
(() => {
  const board = () => document.querySelector(".board");
  const bars = () => [...document.querySelectorAll(".board .bar[data-op]:not([tabindex='-1'])")];
  const middle = (element) => { const box = element.getBoundingClientRect(); return [box.left + box.width / 2, box.top + box.height / 2]; };

  // Where a place on a track lies in time, to five minutes, as the form takes it.
  const momentAt = (track, x) => {
    const box = track.getBoundingClientRect();
    const { days, first, last } = board().dataset;
    const names = days.trim().split(" ");
    const place = Math.min(Math.max((x - box.left) / box.width, 0), 0.99999) * names.length;
    const minutes = Math.round((Number(first) + (place % 1) * (Number(last) - Number(first))) / 5) * 5;
    const two = (number) => String(number).padStart(2, "0");
    return `${names[Math.floor(place)]}T${two(Math.floor(minutes / 60) % 24)}:${two(minutes % 60)}`;
  };

  const show = (query, focus) => {
    const { plan, week } = board().dataset;
    const there = `${location.pathname}?${new URLSearchParams({ plan, week, ...query })}`;
    window.htmx.ajax("GET", there, { target: "#board", swap: "outerHTML" }).then(() => {
      history.replaceState(null, "", there);
      comeIntoView();
      const element = focus && document.querySelector(focus);
      if (element) element.focus();
    });
  };

  const drawThreads = () => {
    const root = board();
    if (!root) return;
    const svg = root.querySelector(".wires"), frame = root.getBoundingClientRect();
    const picked = root.querySelector(".bar.picked");
    const orders = new Set();
    if (picked && picked.dataset.order) orders.add(picked.dataset.order);
    if (document.getElementById("threads")?.checked)
      root.querySelectorAll(".bar[data-late]").forEach((bar) => { if (orders.size < 12) orders.add(bar.dataset.order); });
    svg.replaceChildren(...[...orders].map((order) => {
      const own = bars().filter((bar) => bar.dataset.order === order).map(middle).sort((a, b) => a[0] - b[0]);
      const line = document.createElementNS("http://www.w3.org/2000/svg", "polyline");
      line.setAttribute("points", own.map(([x, y]) => `${x - frame.left},${y - frame.top}`).join(" "));
      if (!picked || picked.dataset.order !== order) line.setAttribute("class", "late");
      return line;
    }));
  };

  const nearest = (from, step) => {
    const here = middle(from), tracks = [...document.querySelectorAll(".board .track")];
    for (let at = tracks.indexOf(from.closest(".track")) + step; tracks[at]; at += step) {
      const found = [...tracks[at].querySelectorAll(".bar[data-op]:not([tabindex='-1'])")];
      if (found.length) return found.sort((a, b) => Math.abs(middle(a)[0] - here[0]) - Math.abs(middle(b)[0] - here[0]))[0];
    }
    return null;
  };

  document.addEventListener("keydown", (event) => {
    if (!board() || event.ctrlKey || event.metaKey) return;
    const typing = event.target.matches("input, select, textarea");
    if (event.key === "Escape" && document.querySelector(".bar.picked")) { show({}); return; }
    const bar = event.target.closest(".bar[data-op]");
    if (bar && event.altKey && (event.key === "ArrowLeft" || event.key === "ArrowRight")) {
      const field = document.getElementById("to");
      if (!field) return;
      const step = (event.shiftKey ? 24 * 60 : 30) * (event.key === "ArrowRight" ? 1 : -1);
      const moved = new Date(`${field.value}:00Z`);
      moved.setUTCMinutes(moved.getUTCMinutes() + step);
      event.preventDefault();
      show({ pick: bar.dataset.op, to: moved.toISOString().slice(0, 16) }, ".bar.picked");
      return;
    }
    if (typing || event.altKey) return;
    const key = document.querySelector(`button[data-key="${CSS.escape(event.key)}"]`);
    if (key) { key.click(); return; }
    if (event.key === "o") { const fold = document.querySelector(".hours"); if (fold) { fold.open = true; document.getElementById("ot-centre").focus(); event.preventDefault(); } return; }
    if (!bar) return;
    if (event.key === "Enter") { event.preventDefault(); show({ pick: bar.dataset.op }, "#to"); return; }
    const all = bars(), at = all.indexOf(bar);
    const next = { ArrowRight: all[at + 1], ArrowLeft: all[at - 1], ArrowDown: nearest(bar, 1), ArrowUp: nearest(bar, -1) }[event.key];
    if (next) { next.focus(); event.preventDefault(); event.stopImmediatePropagation(); }
  }, true);

  // Dragging: the bar follows the pointer; where it is let go is tried, and kept only by the button.
  document.addEventListener("pointerdown", (event) => {
    const bar = event.target.closest(".bar[data-move]");
    if (!bar || event.button !== 0 || bar.classList.contains("rider")) return;
    const startX = event.clientX, track = bar.closest(".track"), left = bar.getBoundingClientRect().left;
    let far = false;
    const follow = (moved) => {
      if (!far && Math.abs(moved.clientX - startX) < 6) return;
      far = true;
      bar.classList.add("dragged");
      bar.style.transform = `translateX(${moved.clientX - startX}px)`;
      bar.title = momentAt(track, left + moved.clientX - startX).replace("T", " ");
    };
    const end = (moved) => {
      document.removeEventListener("pointermove", follow);
      document.removeEventListener("pointerup", end);
      document.removeEventListener("pointercancel", end);
      if (!far) return;
      bar.addEventListener("click", (click) => { click.preventDefault(); click.stopPropagation(); }, { once: true, capture: true });
      if (moved.type === "pointerup") show({ pick: bar.dataset.op, to: momentAt(track, left + moved.clientX - startX) }, "#keep");
      else { bar.classList.remove("dragged"); bar.style.transform = ""; }
    };
    document.addEventListener("pointermove", follow);
    document.addEventListener("pointerup", end);
    document.addEventListener("pointercancel", end);
  });
  document.addEventListener("dragstart", (event) => { if (event.target.closest(".bar")) event.preventDefault(); });
  document.addEventListener("click", (event) => {
    const bar = event.target.closest(".board .bar[data-op]");
    if (!bar || event.defaultPrevented || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    show({ pick: bar.dataset.op }, ".bar.picked");
  });
  document.addEventListener("change", (event) => { if (event.target.id === "threads") drawThreads(); });
  document.addEventListener("htmx:afterSettle", drawThreads);
  window.addEventListener("resize", drawThreads);
  // On a narrow screen the board begins at what is picked, else at now.
  const comeIntoView = () => {
    const root = board(), mark = root && (root.querySelector(".bar.picked") || root.querySelector(".now-line i"));
    if (mark) root.closest(".scroll").scrollLeft += mark.getBoundingClientRect().left - root.closest(".scroll").getBoundingClientRect().left - 220;
  };
  window.addEventListener("load", () => { comeIntoView(); drawThreads(); });
})();
