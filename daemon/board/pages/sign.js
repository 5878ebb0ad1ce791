// Our sign: a bulb with its leaf, as full as the feed is strong. Waves: plain water. Hatched: not
// yet decided.
"use strict";
plainwater.sign = (() => {
  const {svg} = plainwater.dom;
  const kBulb = "M24 34C13 40 6 55 8 70C10 83 17 90 26 90C35 90 42 83 44 70C46 55 37 40 28 34Z";
  const kLeaf =
      "M26 34C24 22 13 8 3 4C5 18 14 30 25 34M27 34C29 24 37 14 48 11C46 22 38 31 27.5 34";
  // Grooves of its skin, and the rhizome it stands on.
  const kGrooves = "M20 42C15 52 14 64 15 74M32 42C37 52 38 64 37 74",
        kRhizome = "M3 91C14 93 38 93 49 91";
  const kTop = 34, kBottom = 90;
  let made = 0;

  /// `trial`: plain water that is not decided yet. It is drawn for the eye only; the words stand
  /// beside it.
  function draw(feeding, percent, trial) {
    const id = `bulb-${++made}`;
    const parts = [svg("clipPath", {id}, svg("path", {d: kBulb}))];
    const inside = svg("g", {"clip-path": `url(#${id})`});
    if (feeding === "plain-water") {
      if (trial)
        for (let x = -40; x < 60; x += 7)
          inside.append(svg("path", {class: "trial", d: `M${x} 92L${x + 56} 32`}));
      else
        for (const y of [58, 68, 78])
          inside.append(svg("path", {class: "water", d: `M4 ${y}q5 -5 10 0t10 0t10 0t10 0t10 0`}));
    } else {
      const level = kBottom - ((kBottom - kTop) * percent) / 100;
      inside.append(
          svg("rect", {class: "feed", x: 0, y: level, width: 52, height: 92 - level}),
          svg("path", {class: "level", d: `M0 ${level}H52`}));
    }
    parts.push(
        inside, svg("path", {class: "skin", d: kBulb}), svg("path", {class: "leaf", d: kLeaf}),
        svg("path", {class: "groove", d: kGrooves}), svg("path", {class: "leaf", d: kRhizome}));
    return svg(
        "svg", {class: "bulb", viewBox: "0 0 52 94", "aria-hidden": "true", focusable: "false"},
        parts);
  }
  return {draw};
})();
