// Keeps the inbox of a page live. Nothing is decided or drawn here: when the stream tells of
// something this page does not show, the page is fetched anew. Without this script the page
// shows the same whenever it is loaded.
"use strict";
(function () {
  const main = document.getElementById("main");
  const address = main && main.dataset.inbox;
  if (!address || !window.EventSource) return;
  const known = new Map();
  let stream = null;

  function shown(id) {
    return main.querySelector('[data-notice="' + CSS.escape(id) + '"]') !== null;
  }

  function heard(event) {
    const notice = JSON.parse(event.data);
    if (known.get(notice.id) === notice.changed_at) return;
    known.set(notice.id, notice.changed_at);
    const open = notice.state === "open";
    if (open === shown(notice.id)) return;
    if (open && navigator.vibrate) navigator.vibrate(notice.resin_is_live ? [400, 200, 400] : 200);
    document.dispatchEvent(new Event("page-is-old"));
  }

  // A page that nobody looks at asks for nothing.
  function follow() {
    if (document.hidden && stream) {
      stream.close();
      stream = null;
    } else if (!document.hidden && !stream) {
      stream = new EventSource(address);
      stream.addEventListener("notice", heard);
    }
  }

  follow();
  document.addEventListener("visibilitychange", follow);
})();
