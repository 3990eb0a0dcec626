// Keeps a page fresh where there is a network, and says how old it is where there is none.
// Nothing is decided here: the server's words are shown; only minutes are counted down.
"use strict";
(function () {
  const main = document.getElementById("main");
  let shown = { server: 0, here: 0, tick: 0 };
  let failed = false;

  function remember() {
    const at = Date.parse(main.dataset.now || "");
    shown = { server: at, here: Date.now(), tick: performance.now() };
  }

  // A phone's clock may step, and its counter may sleep: two ways to know how long it is.
  function elapsed(choose) {
    return Math.max(0, choose(Date.now() - shown.here, performance.now() - shown.tick));
  }

  function words(ms, up) {
    const minutes = up ? Math.ceil(ms / 60000) : Math.floor(ms / 60000);
    if (minutes < 60) return minutes + " min";
    return Math.floor(minutes / 60) + " h " + String(minutes % 60).padStart(2, "0") + " min";
  }

  function count() {
    for (const each of main.querySelectorAll("[data-until]")) {
      // What is left for work is counted down fast, what is left to hold is counted slow.
      const hold = each.dataset.words === "to go";
      const left = Date.parse(each.dataset.until) - shown.server - elapsed(hold ? Math.min : Math.max);
      const big = hold ? null : each.parentElement.querySelector(".big");
      const text = left > 0 ? words(left, hold) + " " + each.dataset.words
        : hold ? "asking again …" : "may be over";
      (big || each).textContent = text;
    }
    const age = main.querySelector("[data-age]");
    if (!age || !failed) return;
    age.textContent = "No fresh answer: this is " + words(elapsed(Math.max), true) + " old.";
    age.classList.add("stale");
  }

  function busy() {
    const at = document.activeElement;
    return at && /^(INPUT|TEXTAREA|SELECT)$/.test(at.tagName);
  }

  // What somebody has typed is theirs: a fresh page would take it away.
  function typed() {
    for (const each of main.querySelectorAll("input, textarea")) {
      if (each.value !== each.defaultValue || each.checked !== each.defaultChecked) return true;
    }
    for (const each of main.querySelectorAll("select")) {
      const first = Array.from(each.options).findIndex((option) => option.defaultSelected);
      if (each.selectedIndex !== Math.max(first, 0)) return true;
    }
    return false;
  }

  function keepOpen(fresh) {
    for (const each of main.querySelectorAll("details[id]")) {
      const twin = fresh.querySelector("#" + CSS.escape(each.id));
      if (twin) twin.open = each.open;
    }
  }

  async function refresh() {
    if (document.hidden || busy() || typed()) return;
    try {
      const answer = await fetch(location.href, { credentials: "same-origin" });
      if (!answer.ok || answer.redirected) throw new Error("not the page");
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      const fresh = page.getElementById("main");
      if (!fresh || !fresh.dataset.now) throw new Error("not the page");
      keepOpen(fresh);
      main.replaceChildren(...fresh.childNodes);
      main.dataset.now = fresh.dataset.now;
      failed = false;
      remember();
    } catch (error) {
      failed = true;
    }
    count();
  }

  if (main && main.dataset.now) {
    remember();
    count();
    setInterval(count, 5000);
    setInterval(refresh, 1000 * Number(main.dataset.every || 30));
    document.addEventListener("visibilitychange", refresh);
    document.addEventListener("page-is-old", refresh);
  }
})();
