/* Small things that the page framework leaves out: names for controls it makes without one, the theme on the
   root element, and a clear word when a dropped file is too large to send. */
(function () {
  "use strict";

  function nameControls() {
    document.querySelectorAll("input[type=file]:not([aria-label])").forEach(function (input) {
      var box = input.closest("[data-label], .drop");
      input.setAttribute("aria-label", (box && box.getAttribute("data-label")) || "Choose log files");
    });
    document.querySelectorAll(".js-plotly-plot .modebar-btn:not([aria-label])").forEach(function (button) {
      button.setAttribute("aria-label", button.getAttribute("data-title") || "chart tool");
    });
  }
  new MutationObserver(nameControls).observe(document.documentElement, { childList: true, subtree: true });

  window.dash_clientside = Object.assign({}, window.dash_clientside, {
    climbledger: {
      theme: function (preferences) {
        var theme = (preferences && preferences.theme) || "day";
        document.documentElement.setAttribute("data-theme", theme);
        return theme === "night" ? "dark" : "light";
      },
      offer: function (flights, current) {
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
