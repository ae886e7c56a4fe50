/* Small things that the page framework leaves out: names for controls it makes without one, the theme on the
   root element, plots that fit on paper, a clear word when a dropped file is too large to send or the server does
   not answer, and callbacks that need no server. */
(function () {
  "use strict";

  function nameControls() {
    document.querySelectorAll(".place").forEach(function (place) {
      if (place.classList.contains("here")) place.setAttribute("aria-current", "page");
      else place.removeAttribute("aria-current");
    });
    document.querySelectorAll("input[type=file]:not([aria-label])").forEach(function (input) {
      var box = input.closest("[data-label]");
      if (box) input.setAttribute("aria-label", box.getAttribute("data-label"));
    });
    document.querySelectorAll(".js-plotly-plot .modebar-btn:not([aria-label])").forEach(function (button) {
      button.setAttribute("aria-label", button.getAttribute("data-title") || "chart tool");
    });
  }

  // Under a finger a plot would take the swipe that is to move the page, unless its buttons said that it shall. It does
  // not hear the finger at all: with the mouse's click that a browser makes of it, a tap would be a double click.
  document.addEventListener("touchstart", function (event) {
    var plot = event.target.closest(".nsewdrag") && event.target.closest(".js-plotly-plot");
    if (plot && !plot.layout.dragmode) event.stopPropagation();
  }, { capture: true, passive: true });
  // ...and the button that gave it the swipes takes them back.
  document.addEventListener("click", function (event) {
    var button = event.target.closest(".modebar-btn.active[data-attr=dragmode]");
    var plot = button && button.closest(".js-plotly-plot");
    if (!plot || !plot.layout.dragmode || !window.matchMedia("(pointer: coarse)").matches) return;
    event.stopPropagation();
    window.Plotly.relayout(plot, { dragmode: null });
  }, true);

  // A page that another leads to is read from its top.
  var where = window.location.pathname;
  function beginAtTheTop() {
    if (where === window.location.pathname) return;
    where = window.location.pathname;
    window.scrollTo(0, 0);
    trouble("");
  }

  function showQuestion(changes) {
    var box = document.getElementById("column-question"); // may stand far above the button that asks it
    var isNew = box && changes.some(function (change) { return change.addedNodes.length && box === change.target; });
    if (isNew) box.scrollIntoView();
  }

  new MutationObserver(function (changes) {
    nameControls();
    beginAtTheTop();
    showQuestion(changes);
  }).observe(document.documentElement, { childList: true, subtree: true });

  function trouble(words) {
    var box = document.getElementById("trouble");
    box.textContent = words;
    box.hidden = !words;
    if (words) box.scrollIntoView({ block: "nearest" });
  }

  // A message is about what was done last: it goes with the next thing that is done, or with a click on it.
  document.addEventListener("click", function (event) {
    if (event.target.closest(".place, button.plain, #message .message")) window.dash_clientside.set_props("message", { children: null });
  });
  function whyNot(status) {
    if (status === 401) return "climbledger asks for its token: open the address that its terminal shows.";
    if (status === 413) return "That is more than the page takes at once: drop fewer logs.";
    return "climbledger could not answer (" + status + "); its terminal says more.";
  }

  // An answer takes back that there was none, and no other words: those may have come while it was on its way.
  var unanswered = false;
  var ask = window.fetch;
  window.fetch = function (resource) {
    var asked = ask.apply(this, arguments);
    if (String(resource.url || resource).indexOf("_dash-update-component") < 0) return asked;
    return asked.then(
      function (response) {
        if (!response.ok || unanswered) trouble(response.ok ? "" : whyNot(response.status));
        unanswered = !response.ok;
        return response;
      },
      function (error) {
        unanswered = true;
        trouble("No answer from climbledger: look whether it still runs in its terminal, then try again.");
        if (document.getElementById("drop")) window.dash_clientside.set_props("drop", { disabled: false });
        throw error;
      }
    );
  };

  function refuseTooLarge(event, files) {
    var box = event.target.closest && event.target.closest("[data-most-bytes]");
    if (!box || !files) return;
    var sizes = Array.from(files, function (file) { return file.size; });
    var most = Number(box.getAttribute("data-most-bytes"));
    var words = "";
    Array.from(files).forEach(function (file) {
      if (file.size > most) words = file.name + " has " + Math.round(file.size / 1e6) + " MB; the page takes " +
        Math.round(most / 1e6) + " MB. Analyse it with: climbledger analyze FILE --report OUT.html";
    });
    var together = sizes.reduce(function (sum, size) { return sum + size; }, 0);
    if (!words && together > Number(box.getAttribute("data-most-together-bytes"))) words = whyNot(413);
    trouble(words);
    if (!words) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    if (event.type === "change") event.target.value = "";
    else event.target.dispatchEvent(new DragEvent("dragleave", { bubbles: true }));
  }
  window.addEventListener("change", function (event) { refuseTooLarge(event, event.target.files); }, true);
  window.addEventListener("drop", function (event) { refuseTooLarge(event, event.dataTransfer.files); }, true);

  // What misses its box is not lost, and the browser does not leave the page for it.
  window.addEventListener("dragover", function (event) {
    if (event.dataTransfer.types.includes("Files")) event.preventDefault();
  });
  window.addEventListener("drop", function (event) {
    if (!event.dataTransfer.files.length) return;
    event.preventDefault();
    if (event.target.closest && event.target.closest(".drop")) return;
    var input = document.querySelector(".drop input[type=file]");
    if (!input) return trouble("Logs are opened on the Flight page: drop it there.");
    input.files = event.dataTransfer.files;
    input.dispatchEvent(new Event("change", { bubbles: true }));
  });

  // On a screen that is turned, the plot library puts the legend where its rows of before had room; a second look does not.
  var turned, width = window.innerWidth;
  window.addEventListener("resize", function () {
    if (width === window.innerWidth) return; // the bars of a phone's browser come and go while one scrolls
    width = window.innerWidth;
    clearTimeout(turned);
    turned = setTimeout(function () {
      document.querySelectorAll(".js-plotly-plot").forEach(function (plot) {
        if (plot.offsetParent) window.Plotly.redraw(plot);
      });
    }, 400);
  });

  // A plot keeps the width of its screen when it is printed, and paper would cut it off.
  var PAPER_PX = 690;
  function fitPlots(width) {
    document.querySelectorAll(".js-plotly-plot").forEach(function (plot) {
      window.Plotly.relayout(plot, { width: width, autosize: width === null });
    });
  }
  window.addEventListener("beforeprint", function () { fitPlots(PAPER_PX); });
  window.addEventListener("afterprint", function () { fitPlots(null); });

  // What is dropped waits for the tab's first flights: if they came after it, they would take its place.
  var arrive;
  var arrived = new Promise(function (resolve) { arrive = resolve; });

  window.dash_clientside = Object.assign({}, window.dash_clientside, {
    climbledger: {
      theme: function (preferences) {
        var theme = (preferences && preferences.theme) || "day";
        document.documentElement.setAttribute("data-theme", theme);
        return theme === "night" ? "dark" : "light";
      },
      take: function (contents, names) {
        // stamped and taken out of the box, so that the same file can be dropped again, whatever became of it
        if (!contents) return [window.dash_clientside.no_update, window.dash_clientside.no_update];
        window.dash_clientside.set_props("drop", { disabled: true });
        return arrived.then(function () { return [{ names: names, contents: contents, at: Date.now() }, null]; });
      },
      offer: function (flights, current) {
        if (flights) arrive();
        var options = (flights || []).map(function (flight) {
          return { value: flight.key, label: flight.title + (flight.is_sample ? " (sample)" : "") };
        });
        return [options, current];
      },
      choose: function (key, current) {
        // the choice follows a flight that has just arrived; that is no choice of the pilot's, and draws nothing anew
        return key && key !== current ? key : window.dash_clientside.no_update;
      },
    },
  });
})();
