// Draws the interactive figures over the still ones; without this script the still ones remain.
(function () {
  "use strict";
  if (typeof Plotly === "undefined") { return; }
  document.documentElement.classList.add("scripted");
  document.querySelectorAll(".live").forEach(function (place) {
    var drawing = JSON.parse(document.getElementById(place.dataset.figure).textContent);
    // under a finger a plot would take the swipe that is to move the page; its buttons zoom and pan all the same
    if (matchMedia("(pointer: coarse)").matches) { drawing.figure.layout.dragmode = false; }
    Plotly.newPlot(place, drawing.figure.data, drawing.figure.layout, drawing.config);
  });
})();
