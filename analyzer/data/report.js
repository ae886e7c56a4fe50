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
  // on a screen that is turned, Plotly puts the legend where its rows of before had room; a second look does not
  var turned, width = innerWidth;
  window.addEventListener("resize", function () {
    if (width === innerWidth) { return; } // the bars of a phone's browser come and go while one scrolls
    width = innerWidth;
    clearTimeout(turned);
    turned = setTimeout(function () { document.querySelectorAll(".live").forEach(Plotly.redraw); }, 400);
  });
})();
