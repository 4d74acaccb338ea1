// Three comforts; every page works without them.
// 1. On the map the arrow keys go from cell to cell, with one stop for Tab.
// 2. A cell of a map that has the focus is brought into view whole, not by an edge.
// 3. A button that prints, where printing is offered.
"use strict";

const CELL = /\/cell\/([A-Z]+)([0-9]+)/;

function columnOf(letters) {
  let column = 0;
  for (const letter of letters) column = column * 26 + letter.charCodeAt(0) - 64;
  return column;
}

function placeOf(link) {
  const found = CELL.exec(link.getAttribute("href"));
  return found && { column: columnOf(found[1]), row: Number(found[2]) };
}

const STEPS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };

function nearest(places, from, step) {
  let best = null;
  for (const [link, place] of places) {
    const along = (place.column - from.column) * step[0] + (place.row - from.row) * step[1];
    const aside = Math.abs((place.column - from.column) * step[1])
      + Math.abs((place.row - from.row) * step[0]);
    if (along <= 0) continue;
    const far = along + 3 * aside;
    if (best === null || far < best.far) best = { link, far };
  }
  return best && best.link;
}

function walkMap(map, told) {
  const places = new Map();
  for (const link of map.querySelectorAll("a")) {
    const place = placeOf(link);
    if (place) places.set(link, place);
  }
  if (places.size === 0) return;
  const stop = (here) => {
    for (const link of places.keys()) link.setAttribute("tabindex", link === here ? "0" : "-1");
  };
  stop(places.keys().next().value);
  map.addEventListener("focusin", (event) => {
    const link = event.target.closest("a");
    if (!places.has(link)) return;
    stop(link);
    told.textContent = link.getAttribute("aria-label");
  });
  map.addEventListener("keydown", (event) => {
    const link = event.target.closest("a");
    const step = STEPS[event.key];
    if (!step || !places.has(link)) return;
    event.preventDefault();
    const next = nearest(places, places.get(link), step);
    if (next) next.focus();
  });
}

const room = document.getElementById("map-room");
const told = document.getElementById("about-cell");
if (room && told) walkMap(room, told);
document.addEventListener("focusin", (event) => {
  const link = event.target.closest(".map a");
  if (link) link.scrollIntoView({ block: "nearest", inline: "nearest" });
});
for (const button of document.querySelectorAll("[data-print]")) {
  button.hidden = false;
  button.addEventListener("click", () => window.print());
}
