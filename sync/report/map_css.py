"""The style sheet of the maps: what presentation attributes cannot say.

Rule 1: without it a map is complete; it adds fitting to the page, focus, strong contrast and the
reader's own colours.
Rule 2: where fills go, patterns stay, and their ink takes the colour of text.
"""

MAP_CSS = """
.map { display: block; max-width: 100%; height: auto; }
.map-half, .map-cells { max-width: none; }
.map.swatch { display: inline-block; vertical-align: middle; max-width: none; }
.map a:focus { outline: none; }
.map a:focus-visible { outline: 3px solid #000; outline-offset: -1px; }
.map a:focus-visible .ground { stroke: #F0E442; stroke-width: 5; }
.map a:hover .name, .map a:focus-visible .name { text-decoration: underline; }
@media (prefers-contrast: more) {
  .map .fill, .map .ground { fill: #fff; }
  .map .fill.closed, .map .ground.closed { fill: #000; }
  .map .ground { stroke-width: 2.5; }
}
@media (forced-colors: active) {
  .map { forced-color-adjust: none; }
  .map .fill, .map .ground, .map .bar-white { fill: Canvas; }
  .map .ink, .map .arrow, .map .bar, .map text { fill: CanvasText; }
  .map .ground, .map .outline, .map .edge, .map .bar, .map .bar-white, .map .gate path {
    stroke: CanvasText; }
  .map .fill.closed, .map .ground.closed { fill: CanvasText; }
  .map .ink-closed, .map .on-closed { fill: Canvas; }
  .map .dotted { fill: none; stroke: CanvasText; }
  .map text.word, .map .halo, .map .gate .halo { stroke: Canvas; }
  .map .flag .plate { fill: Canvas; stroke: CanvasText; }
  .map .flag .pole { stroke: CanvasText; }
  .map .flag .pennant { fill: CanvasText; }
  .map a:focus-visible { outline-color: Highlight; }
  .map a:focus-visible .ground { stroke: Highlight; }
}
"""
