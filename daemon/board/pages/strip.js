// The small strip of the last nights: the season's strip in a few strokes.
"use strict";
plainwater.strip = (() => {
  const {svg} = plainwater.dom, nights = plainwater.nights, format = plainwater.format,
        texts = plainwater.texts;
  const kWidth = 360, kPlot = 58, kFeed = 14, kFoot = 14, kNights = 60;
  let made = 0;

  function holdShapes(bench, x, from, to, hatch) {
    const shapes = [];
    for (const hold of bench.holds)
      for (const phase of nights.phases(hold)) {
        const a = Math.max(phase.from, from), b = Math.min(phase.to === null ? to : phase.to, to);
        if (b <= a) continue;
        const box = {x: x(a).toFixed(1), y: 0, width: (x(b) - x(a)).toFixed(1), height: kPlot};
        if (phase.state === "trial") shapes.push(svg("rect", {...box, fill: `url(#${hatch})`}));
        shapes.push(
            svg("rect",
                {...box, class: phase.state, ...(phase.state === "trial" ? {fill: "none"} : {})}));
      }
    return shapes;
  }

  /// `bench` as nights.unpack gives it; null for fewer than two nights.
  function draw(bench) {
    const list = bench.list.slice(-kNights);
    if (list.length < 2) return null;
    const to = list[list.length - 1].x + nights.kDay, from = to - kNights * nights.kDay;
    const [low, high] = nights.range([list], bench.group_night_c);
    const x = (ms) => ((ms - from) / (to - from)) * kWidth,
          y = (c) => 2 + ((kPlot - 4) * (high - c)) / (high - low);
    const bottom = kPlot + kFeed, hatch = `hatch-${++made}`, step = kWidth / kNights;
    let line = "", dots = "", feed = "", water = "", before = null;
    for (const n of list) {
      if (n.mean !== null && n.counted)
        dots += `M${(x(n.x) - 1.5).toFixed(1)} ${
            y(n.mean).toFixed(1)}a1.5 1.5 0 1 0 3 0a1.5 1.5 0 1 0 -3 0`;
      if (n.used !== null)
        line += `${before === n.x - nights.kDay ? "L" : "M"}${x(n.x).toFixed(1)} ${
            y(n.used).toFixed(1)}`,
            (before = n.x);
      const box = (h) => `M${x(n.x).toFixed(1)} ${bottom}v${- h}h${step.toFixed(1)}v${h}z`;
      if (n.feeding === "plain-water")
        water += box(2);
      else if (n.feeding !== "unknown")
        feed += box(((kFeed - 3) * n.strength) / 100);
    }
    const label = (n, anchor, at) =>
        svg("text", {x: at, y: bottom + kFoot - 2, "text-anchor": anchor}, format.evening(n.date));
    return svg(
        "svg", {
          class: "short",
          viewBox: `0 0 ${kWidth} ${bottom + kFoot}`,
          role: "img",
          "aria-label": texts.shortStrip(list.length, bench.name)
        },
        svg("defs", {},
            svg("pattern", {
              id: hatch,
              width: 5,
              height: 5,
              patternUnits: "userSpaceOnUse",
              patternTransform: "rotate(45)"
            },
                svg("path", {class: "hatch", d: "M0 0V5"}))),
        holdShapes(bench, x, from, to, hatch),
        svg("path", {class: "number", d: `M0 ${y(bench.group_night_c).toFixed(1)}H${kWidth}`}),
        svg("path", {class: "dot", d: dots}), svg("path", {class: "used", d: line}),
        svg("path", {class: "feed", d: feed}), svg("path", {class: "water", d: water}),
        svg("path", {class: "base", d: `M0 ${bottom}H${kWidth}`}),
        label(list[0], "start", Math.max(0, x(list[0].x))),
        label(list[list.length - 1], "end", kWidth));
  }
  return {draw, nights: kNights};
})();
