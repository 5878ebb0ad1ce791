// Strips one below the other, each drawn while it is near the window and put away when it is far:
// fifty benches cost no more than the few that one sees.
"use strict";
plainwater.seasonStrips = (() => {
  const {el} = plainwater.dom, texts = plainwater.texts, format = plainwater.format;

  function legend(compare) {
    const svg = plainwater.dom.svg, t = texts.legend;
    const sign = (...shapes) => svg(
        "svg", {class: "short", viewBox: "0 0 24 14", "aria-hidden": "true", focusable: "false"},
        shapes);
    const box = (c) =>
        svg("rect",
            {x: 0.5, y: 0.5, width: 23, height: 13, class: c, fill: c === "trial" ? "none" : null});
    const lines =
        [0, 6, 12, 18].map((x) => svg("path", {class: "hatch", d: `M${x} 13L${x + 6} 1`}));
    const items = [
      [sign(svg("circle", {class: "dot", cx: 12, cy: 7, r: 2.6})), t.night],
      [sign(svg("circle", {class: "ring", cx: 12, cy: 7, r: 2.6})), t.uncounted],
      [sign(svg("path", {class: "used", d: "M0 7H24"})), t.used],
      [sign(lines, box("trial")), t.trial],
      [sign(box("held")), t.held],
      [sign(box("gone")), t.gone],
      [sign(svg("path", {class: "chill", d: "M7 3H17L12 11z"})), t.chill],
      [sign(svg("path", {class: "dip", d: "M7 3H17L12 11z"})), t.dip],
      [sign(svg("path", {class: "fall", d: "M7 3H17L12 11z"})), t.fall],
      [sign(svg("rect", {class: "feed", x: 0, y: 2, width: 24, height: 12})), t.feed],
      [sign(svg("rect", {class: "water", x: 0, y: 10, width: 24, height: 3})), t.water],
      [sign(svg("rect", {class: "out", x: 0, y: 5, width: 24, height: 5})), t.out],
      ...(compare ? [[sign(svg("path", {class: "ring", d: "M12 3l4 4l-4 4l-4 -4z"})), t.before]]
                  : []),
    ];
    return el(
        "ul", {class: "legend", "aria-label": texts.legendHead},
        items.map(([s, words]) => el("li", {}, s, words)));
  }

  /// A figure of the bench; `before`: a year earlier, at this year's dates. `linked`: its name
  /// leads to its page.
  function make(bench, before, span, linked) {
    const readout = el("p", {class: "readout idle", "data-field": "readout"}, texts.readoutNone),
          place = el("div", {class: "place"});
    const names = plainwater.names, whole = names.whole(bench.name);
    const name =
        linked ? el("a", {href: `/bench/${encodeURIComponent(bench.name)}`}, whole) : whole;
    const figure =
        el("figure", {class: "strip", "data-bench": bench.name},
           el("figcaption", {}, names.fit(el("h2", {}, name), bench.name),
              el("p", {class: "quiet"},
                 texts.stripNumber(
                     texts.groups[bench.group], format.temperature(bench.group_night_c)))),
           el("div", {class: "body"},
              bench.list.length ? [readout, place] : el("p", {class: "quiet"}, texts.noNights),
              plainwater.seasonTable.holdLines(bench),
              bench.list.length || bench.holds.length ? plainwater.seasonTable.make(bench) : ""));
    let plot = null;
    const draw = (near) => {
      if (near && !plot && bench.list.length) {
        plot = plainwater.seasonPlot.draw(place, bench, before, span, readout, "season-help");
      } else if (!near && plot && document.activeElement !== plot.node) {
        plot.remove();
        plot = null;
      }
    };
    const observer = new IntersectionObserver(
        (seen) => draw(seen[seen.length - 1].isIntersecting), {rootMargin: "400px 0px"});
    observer.observe(figure);
    // On paper there is no window to be near.
    const print = () => draw(true);
    addEventListener("beforeprint", print);
    return {
      figure,
      remove() {
        observer.disconnect();
        removeEventListener("beforeprint", print);
        if (plot) plot.remove();
        figure.remove();
      },
    };
  }
  return {make, legend};
})();
