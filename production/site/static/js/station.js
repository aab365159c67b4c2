/* A station's page shows its new state once the workshop has taken what was entered on it; what the workshop said is
   told again there (see waiting.js). */
document.addEventListener("waiting:sent", ({ detail }) => {
  if (detail.entry.page !== location.pathname || !detail.answer.goes_to) return;
  sessionStorage.setItem("workshop-said", detail.answer.said);
  location.assign(detail.answer.goes_to);
});
