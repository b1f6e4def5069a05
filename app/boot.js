// Starts the app, keeps the promise that a failure ends on a readable page, and registers the
// service worker. A plain script without dependencies: it must work when nothing else does.
//
// The app (app/src/shell.rs) calls
//   pinfold.started()              after its first render: stops the watchdog, registers the worker
//   pinfold.broke(kind, message)   kind "panic", "store", "newer" or "start": swaps in the static page;
//                                  "held": the same until started()
// and reads
//   pinfold.update.waiting         a newer build lies ready (event "pinfold-update" on window)
//   pinfold.update.apply()         the person accepted and nothing is open: use it and reload
//   pinfold.offline                "unknown", "ready" or "none" (event "pinfold-offline")
// It writes the localStorage key "pinfold.strip", which this page reads when it has stopped:
//   {"v":1,"at":ms,"in":[["Patient's L cheek",7]],"due":[["Take out L cheek",ms]]}
(function () {
  "use strict";

  var START_LIMIT_MS = 10000;
  var CHECK_EVERY_MS = 60 * 60 * 1000;
  var STRIP = "pinfold.strip";

  var root = document.documentElement;
  var build = root.getAttribute("data-build");
  var version = root.getAttribute("data-version");
  var broken = null; // {kind, message, at}
  var ready = false;
  var watchdog = 0;
  var registration = null;
  var newer = false; // the worker in charge is of another build than the one it serves here
  var accepted = null; // the worker whose build the person took
  var reloaded = false;
  var lastCheck = 0;

  function el(id) { return document.getElementById(id); }
  function tell(name) { window.dispatchEvent(new Event(name)); }

  // --- the strip: what the last screen knew, without names ---------------------------------------

  function isPair(row) { return Array.isArray(row) && typeof row[0] === "string" && typeof row[1] === "number" && isFinite(row[1]); }

  // null: nothing readable. Never "no needles": only the app can say that, by writing an empty list.
  function readStrip() {
    try {
      var strip = JSON.parse(localStorage.getItem(STRIP));
      if (!strip || strip.v !== 1 || !Array.isArray(strip.in) || !Array.isArray(strip.due)) return null;
      if (!strip.in.every(isPair) || !strip.due.every(isPair)) return null;
      return strip;
    } catch (_) { return null; }
  }

  function isOpen() {
    var strip = readStrip();
    return !!strip && (strip.in.length > 0 || strip.due.length > 0);
  }

  function clockTime(ms) {
    var d = new Date(ms);
    return String(d.getHours()).padStart(2, "0") + ":" + String(d.getMinutes()).padStart(2, "0");
  }

  function row(label, figure, over) {
    var li = document.createElement("li");
    var name = document.createElement("span");
    var value = document.createElement("b");
    name.textContent = label;
    value.textContent = figure;
    if (over) li.setAttribute("data-over", "");
    li.append(name, value);
    return li;
  }

  function dueWords(ms, now) {
    var minutes = Math.floor(Math.abs(now - ms) / 60000);
    if (now < ms) return clockTime(ms) + ", in " + (minutes + 1) + " min";
    return clockTime(ms) + ", " + (minutes === 0 ? "now" : minutes + " min over");
  }

  // Drawn from the stamps each time, never counted in ticks: a sleeping phone cannot stop a clock.
  function drawStrip() {
    var strip = readStrip();
    var now = Date.now();
    el("broken-strip").hidden = !strip;
    el("broken-no-strip").hidden = !!strip;
    if (!strip) return;
    var total = strip.in.reduce(function (sum, pair) { return sum + pair[1]; }, 0);
    el("broken-total").textContent = String(total);
    el("broken-total-word").textContent = total === 1 ? "needle in" : "needles in";
    el("broken-at").textContent = "As this phone last knew it" + (typeof strip.at === "number" ? ", at " + clockTime(strip.at) : "") + ". Check by hand.";
    el("broken-in").replaceChildren.apply(el("broken-in"), strip.in.map(function (pair) { return row(pair[0], String(pair[1]), false); }));
    var due = strip.due.slice().sort(function (a, b) { return a[1] - b[1]; });
    el("broken-due-title").hidden = due.length === 0;
    el("broken-due").replaceChildren.apply(el("broken-due"), due.map(function (pair) { return row(pair[0], dueWords(pair[1], now), now >= pair[1]); }));
  }

  // --- breaking ----------------------------------------------------------------------------------

  var WHY = {
    panic: "Something in Pinfold went wrong, and it stopped rather than show you a wrong count.",
    store: "This phone refused to keep or give back the records.",
    newer: "A newer version of Pinfold has changed the store on this phone, and this older one leaves it alone. Everything is kept. Reload to get the new version.",
    held: "What is kept on this phone does not open yet. Most often another window of Pinfold holds it. Everything is kept: close that window, and this page goes on by itself. If there is none, reload.",
    start: "Pinfold did not start on this phone."
  };
  var LATE = "Pinfold has not started yet. On a slow line the first load can take a minute; this page goes away by itself when it has.";

  function whenBody(act) {
    if (el("broken")) act(); else document.addEventListener("DOMContentLoaded", act, { once: true });
  }

  function broke(kind, message, late) {
    if (broken && broken.late && (!late || kind !== broken.kind)) broken = null; // now the true cause is known
    if (!Object.prototype.hasOwnProperty.call(WHY, kind)) kind = "panic";
    if (broken) return; // the first cause is the one worth reading
    broken = { kind: kind, message: String(message === undefined ? "" : message), at: Date.now(), late: !!late };
    clearTimeout(watchdog);
    whenBody(function () {
      if (!broken) return; // it started after all while the document was still loading
      root.setAttribute("data-broken", kind);
      el("broken-why").textContent = late || WHY[kind];
      el("broken").hidden = false;
      drawStrip();
      el("broken-title").focus();
    });
    // The new version may lie ready, or on the server: look for it, as a start would have.
    if (kind === "newer" && !registration) register();
  }

  // A slow start that arrives late is a start. Everything else stays broken until a reload.
  function mend() {
    broken = null;
    root.removeAttribute("data-broken");
    if (el("broken")) el("broken").hidden = true;
  }

  function watch() {
    watchdog = setTimeout(function () {
      if (broken || ready) return;
      broke("start", "Nothing was drawn within " + START_LIMIT_MS / 1000 + " seconds.", LATE);
    }, START_LIMIT_MS);
  }

  var OURS = /pinfold-(app|split)|(split_\w+|chunk_\d+)\.wasm/; // the glue and the modules

  // Failures of the program itself. An odd event of the browser's own (a resize loop) is not one.
  function isOurs(error, filename) {
    if (typeof WebAssembly === "object" && error instanceof WebAssembly.RuntimeError) return true;
    return OURS.test(String(filename || "")) || OURS.test(String(error && error.stack));
  }
  // Which error and where in the program. Its words only if the browser's own engine put them
  // together: others may quote what was being worked on.
  function unworded(error) {
    var own = typeof WebAssembly === "object" && error instanceof WebAssembly.RuntimeError;
    var places = String(error && error.stack).match(/pinfold-(app|split)[\w.-]*:\d+:\d+|(\w[\w.-]*\.wasm:)?wasm-function\[\d+\]/g) || [];
    return String((error && error.name) || "Error") + (own ? ": " + error.message : "") + " at " + (places.slice(0, 4).join(" < ") || "a place unknown");
  }

  window.addEventListener("error", function (event) {
    if (isOurs(event.error, event.filename)) broke(ready ? "panic" : "start", unworded(event.error));
  });
  window.addEventListener("unhandledrejection", function (event) {
    if (isOurs(event.reason, "")) broke(ready ? "panic" : "start", unworded(event.reason));
  });

  // --- diagnostics: a file to look at, never sent by itself --------------------------------------

  // A panic message can quote the text it stumbled over. Whatever stands in quotes goes.
  function withoutQuotes(text) {
    return text.replace(/`[^`]*`|"[^"]*"|'[^']*'|\u2018[^\u2019]*\u2019|\u201c[^\u201d]*\u201d/g, "[left out]").slice(0, 600);
  }

  async function report() {
    var strip = readStrip();
    var facts = {
      program: "Pinfold",
      version: version,
      build: build,
      kind: broken && broken.kind,
      message: broken && withoutQuotes(broken.message),
      stopped_at: broken && new Date(broken.at).toISOString(),
      started_before: ready,
      browser: navigator.userAgent,
      webassembly: typeof WebAssembly === "object",
      worker: navigator.serviceWorker ? (navigator.serviceWorker.controller ? "in charge" : "not in charge") : "not offered",
      needles_in_strip: strip ? strip.in.reduce(function (sum, pair) { return sum + pair[1]; }, 0) : null,
      clocks_in_strip: strip ? strip.due.length : null
    };
    try { facts.local_keys = localStorage.length; } catch (_) { facts.local_keys = "refused"; }
    try {
      var estimate = await navigator.storage.estimate();
      facts.storage_used_bytes = estimate.usage;
      facts.storage_limit_bytes = estimate.quota;
      facts.storage_kept = await navigator.storage.persisted();
    } catch (_) { facts.storage_used_bytes = "refused"; }
    return JSON.stringify(facts, null, 2) + "\n";
  }

  async function showReport() {
    var text = await report();
    el("broken-report-text").textContent = text;
    el("broken-report-file").href = URL.createObjectURL(new Blob([text], { type: "application/json" }));
    el("broken-report").hidden = false;
    el("broken-report").scrollIntoView();
  }

  whenBody(function () {
    el("broken-reload").addEventListener("click", function () {
      // The one page that takes a build with needles in: this build cannot count them any more.
      if (!broken || broken.kind !== "newer" || !pinfold.update.waiting || !take()) location.reload();
      else setTimeout(function () { location.reload(); }, 5000);
    });
    el("broken-diagnostics").addEventListener("click", showReport);
  });
  setInterval(function () { if (broken) drawStrip(); }, 5000);

  // --- the worker: offline, and a new build only when the person wants it ------------------------

  function setOffline(state) {
    if (pinfold.offline === state) return;
    pinfold.offline = state;
    tell("pinfold-offline");
  }

  function look() {
    var waiting = !!(registration && navigator.serviceWorker.controller && (registration.waiting || newer));
    if (waiting === pinfold.update.waiting) return;
    pinfold.update.waiting = waiting;
    tell("pinfold-update");
  }

  function follow(worker) {
    if (!worker) return;
    worker.addEventListener("statechange", function () {
      look();
      if (worker.state === "activated") setOffline("ready");
    });
  }

  // Once, and only in the window that asked: another window may have a needle in.
  function reloadAs(worker) {
    if (!accepted || accepted !== worker || reloaded) return;
    reloaded = true;
    location.reload();
  }

  async function register() {
    if (!navigator.serviceWorker) { setOffline("none"); return; }
    navigator.serviceWorker.addEventListener("controllerchange", function () { reloadAs(navigator.serviceWorker.controller); });
    navigator.serviceWorker.addEventListener("message", function (event) {
      var data = event.data || {};
      if (data.type === "build") { newer = data.build !== build; look(); }
      // A worker that was in charge already: no change of worker will tell. Else that does, later.
      if (data.type === "taken" && event.source === navigator.serviceWorker.controller) reloadAs(event.source);
    });
    try {
      registration = await navigator.serviceWorker.register("/sw.js", { updateViaCache: "none" });
    } catch (_) { setOffline(navigator.serviceWorker.controller ? "ready" : "none"); return; }
    registration.addEventListener("updatefound", function () { follow(registration.installing); });
    follow(registration.installing);
    if (registration.active) setOffline("ready");
    look();
    lastCheck = Date.now();
    var charge = navigator.serviceWorker.controller;
    if (charge) {
      charge.postMessage({ type: "which" });
      charge.postMessage({ type: "tidy", build: build });
    }
  }

  function take() {
    accepted = registration.waiting || navigator.serviceWorker.controller;
    if (!accepted) return false;
    accepted.postMessage({ type: "take-over" });
    return true;
  }

  async function check() {
    if (!registration || isOpen()) return false;
    lastCheck = Date.now();
    try { await registration.update(); } catch (_) { return false; } // no line: look again later
    look();
    return pinfold.update.waiting;
  }

  document.addEventListener("visibilitychange", function () {
    if (document.visibilityState === "visible" && Date.now() - lastCheck > CHECK_EVERY_MS) check();
  });

  var pinfold = {
    build: build,
    version: version,
    offline: "unknown",
    started: function () {
      if (broken && !broken.late) return;
      if (broken) mend();
      if (ready) return;
      ready = true;
      clearTimeout(watchdog);
      root.setAttribute("data-ready", "");
      // After the first picture, so that fetching the files does not hold it up.
      requestAnimationFrame(function () { setTimeout(register, 0); });
    },
    broke: function (kind, message) { broke(kind, message, kind === "held" && WHY.held); },
    diagnostics: report,
    update: {
      waiting: false,
      check: check,
      // false: refused, because this phone still shows needles in or a clock running.
      apply: function () {
        return registration && pinfold.update.waiting && !isOpen() ? take() : false;
      }
    }
  };
  window.pinfold = pinfold;

  // --- start -------------------------------------------------------------------------------------

  async function start() {
    if (typeof WebAssembly !== "object") { broke("start", "This browser has no WebAssembly, or it is turned off (as in Lockdown Mode)."); return; }
    watch();
    try {
      var glue = await import("/pinfold-app.js");
      var answer = await fetch("/pinfold-app_bg.wasm");
      if (!answer.ok) throw new Error("The code did not arrive: status " + answer.status + ".");
      await glue.default({ module_or_path: answer });
    } catch (error) {
      broke("start", String(error));
    }
  }
  start();
})();
