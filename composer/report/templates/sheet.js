// The sheet works without this script; it only adds fold buttons, a remembered choice in the address, and open folds on paper.
"use strict";
(function () {
  const folds = document.querySelector(".folds");
  folds.hidden = false;
  folds.addEventListener("click", (event) => {
    const way = event.target.dataset && event.target.dataset.fold;
    if (way) {
      document.querySelectorAll("details.chart").forEach((part) => { part.open = way === "open"; });
    }
  });
  // "#leader+charts" in the address opens the sheet that way, so a link can be sent to one partner.
  const wanted = decodeURIComponent(location.hash.slice(1)).split("+");
  wanted.forEach((word) => {
    const radio = document.getElementById("role-" + word) || document.getElementById("voice-" + word);
    if (radio) { radio.checked = true; }
  });
  let shut = [];
  window.addEventListener("beforeprint", () => {
    shut = Array.from(document.querySelectorAll("details:not([open])"));
    shut.forEach((part) => { part.open = true; });
  });
  window.addEventListener("afterprint", () => { shut.forEach((part) => { part.open = false; }); });
})();
