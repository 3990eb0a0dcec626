// Asks for the page of a running search again and shows how far it is; once it is over, goes where
// the page leads. Without this script the page loads itself again.
"use strict";
(function () {
  const shown = document.getElementById("progress");
  if (!shown || !shown.hasAttribute("data-open")) return;

  async function ask() {
    try {
      const answer = await fetch(location.href, { credentials: "same-origin" });
      if (answer.redirected) return location.reload();
      if (!answer.ok) throw new Error("no answer");
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      const fresh = page.getElementById("progress");
      if (!fresh) return location.reload();
      if (!fresh.hasAttribute("data-open")) {
        if (fresh.dataset.then) return location.assign(fresh.dataset.then);
        return location.reload();
      }
      if (fresh.textContent !== shown.textContent) shown.replaceChildren(...fresh.childNodes);
    } catch (error) {
      shown.querySelector("[data-age]").textContent = "No fresh answer; asking again.";
    }
    setTimeout(ask, document.hidden ? 5000 : 1000);
  }

  setTimeout(ask, 700);
})();
