/* Keyboard first: "/" finds, "?" helps, arrows walk the rows of a list; and no form is sent twice. */
"use strict";
(() => {
  const typing = (element) => element.matches("input, select, textarea, [contenteditable]");

  const walk = (step) => {
    const links = [...document.querySelectorAll("tbody tr a[href]")].filter(
      (link, index, all) => all.findIndex((other) => other.closest("tr") === link.closest("tr")) === index);
    if (!links.length) return false;
    const row = document.activeElement.closest("tbody tr");
    const at = links.findIndex((link) => link.closest("tr") === row);
    links[Math.max(0, Math.min(links.length - 1, at < 0 ? 0 : at + step))].focus();
    return true;
  };

  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || typing(event.target)) return;
    if (event.key === "/") { document.getElementById("find")?.focus(); event.preventDefault(); }
    if (event.key === "?") { const help = document.querySelector('a[href$="/help/"]'); if (help) location.href = help.href; }
    if (event.key === "ArrowDown" && walk(1)) event.preventDefault();
    if (event.key === "ArrowUp" && walk(-1)) event.preventDefault();
  });

  // The server refuses a repeat by its key; this only spares the person the second click.
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (form.method !== "post" || event.defaultPrevented) return;
    if (form.dataset.question && !window.confirm(form.dataset.question)) { event.preventDefault(); return; }
    if (form.dataset.sent) { event.preventDefault(); return; }
    form.dataset.sent = "yes";
    setTimeout(() => { delete form.dataset.sent; }, 4000);
  });
  window.addEventListener("pageshow", () => document.querySelectorAll("form[data-sent]").forEach((form) => delete form.dataset.sent));

  // On a narrow screen the week begins at today, not at the days that are past.
  const today = document.querySelector(".week [data-today]");
  if (today) today.closest(".scroll").scrollLeft = today.offsetLeft - 112;

  // A mark on a drawing leads into a list that may be folded up: open it, so that the row can be seen.
  const openTarget = () => {
    const row = location.hash.length > 1 && document.getElementById(decodeURIComponent(location.hash.slice(1)));
    const fold = row && row.closest("details");
    if (fold) { fold.open = true; row.scrollIntoView({ block: "center" }); }
  };
  window.addEventListener("hashchange", openTarget);
  openTarget();

  document.addEventListener("htmx:responseError", (event) => {
    const main = document.getElementById("main");
    const line = document.createElement("p");
    line.className = "message error";
    line.setAttribute("role", "alert");
    line.textContent = `The workshop answered with an error (${event.detail.xhr.status}). Nothing was changed; load the page again.`;
    main.prepend(line);
  });
})();
