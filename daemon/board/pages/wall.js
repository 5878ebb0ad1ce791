// The wall: read from across the house, on paper that keeps its ink. Written anew only when
// something changed; nothing moves and nothing is to be touched. With more benches than fit legibly
// it turns its pages.
"use strict";
plainwater.wall = (() => {
  const {el} = plainwater.dom, texts = plainwater.texts, format = plainwater.format,
        live = plainwater.live;
  // What can be read from three metres on a small display: at least this much for a bench, in CSS
  // pixels.
  const kWide = {row: 84, column: 560}, kNarrow = {row: 116, column: 340};
  const kTurn = 20000, kTold = 3;
  let page = 0, drawn = "";

  /// Columns and rows for `n` benches, as large as they can be. On a narrow screen the day stands
  /// under what a bench may have.
  function grid(n, width, height) {
    const narrow = width < kWide.column, {row, column} = narrow ? kNarrow : kWide;
    let best = null;
    for (let columns = 1; columns <= 6; ++columns) {
      const rows = Math.ceil(n / columns),
            scale = Math.min(height / rows / row, width / columns / column);
      if (!best || scale > best.scale) best = {columns, rows, scale};
    }
    if (best.scale >= 1) return {...best, narrow, scale: Math.min(best.scale, 4), each: n};
    const columns = Math.max(1, Math.floor(width / column)),
          rows = Math.max(1, Math.floor(height / row));
    return {
      columns,
      rows,
      narrow,
      scale: Math.max(0.5, Math.min(width / columns / column, height / rows / row)),
      each: columns * rows
    };
  }

  const spoken = plainwater.entry.spoken;
  /// What it may have takes what the day beside it leaves.
  function line(bench) {
    const until = plainwater.entry.until(bench);
    const plate = el(
        "article", {class: "plate", "data-bench": bench.name},
        plainwater.sign.draw(
            bench.feeding, bench.strength_percent, Boolean(bench.hold && bench.hold.provisional)),
        plainwater.names.fit(el("h2", {}, bench.name), bench.name),
        plainwater.names.measure(
            el("p", {class: "may"}, el("span", {"data-field": "feeding"}, spoken(bench))),
            spoken(bench)),
        el("p", {class: "till", "data-field": "until"}, until));
    plate.style.setProperty("--till", String([...until].length));
    return plate;
  }

  /// What somebody has acknowledged needs nobody who walks by.
  const open = (now) => now.needs.filter((n) => !n.acknowledged_by);
  function need(now) {
    const needs = open(now);
    if (!needs.length) return texts.needs(0, 0);
    const told = needs.slice(0, kTold).map(
        (n) => texts.wall.need(texts.kinds[n.kind] || n.kind, n.bench || n.pump || ""));
    return texts.wall.needs(texts.urgency[needs[0].urgency], told, needs.length - told.length);
  }
  function state(now) {
    if (!live.heard()) return [texts.wall.never, true];
    const when = format.moment(live.heard());
    if (away() || live.still()) return [texts.wall.stale(when), true];
    if (now.service.store !== "healthy") return [texts.wall.store, true];
    if (now.service.backlog || now.service.clock === "unsettled")
      return [now.service.backlog ? texts.wall.backlog : texts.wall.clock, true];
    return [texts.wall.asOf(when), false];
  }
  // A stream that blinks does not soil the paper.
  const kPatience = 15000;
  let lost = Date.now();
  const away = () => lost !== 0 && Date.now() - lost > kPatience;

  /// The lines above and below, which take their height from the benches.
  function drawLines(now, said, stale, told) {
    const sign = document.querySelector(".as-of"), line1 = document.querySelector(".wall-need"),
          needs = open(now);
    plainwater.dom.write(sign, said);
    sign.classList.toggle("stale", stale);
    plainwater.dom.write(line1, told);
    line1.classList.toggle("calm", !needs.length);
    if (needs.length)
      line1.dataset.need = needs[0].kind;
    else
      delete line1.dataset.need;
  }
  function draw() {
    const now = live.now();
    if (!now) return;
    const [said, stale] = state(now), told = need(now);
    drawLines(now, said, stale, told);
    const list = document.querySelector(".plates"),
          height = window.innerHeight - document.querySelector(".wall-top").offsetHeight -
        document.querySelector(".wall-need").offsetHeight - 8;
    const fit = grid(Math.max(1, now.benches.length), window.innerWidth - 24, height),
          pages = Math.max(1, Math.ceil(now.benches.length / fit.each));
    page %= pages;
    const shown = now.benches.slice(page * fit.each, (page + 1) * fit.each);
    const key = JSON.stringify([
      fit, page, now.site.name,
      shown.map((b) => [b.name, spoken(b), plainwater.entry.until(b), b.hold && b.hold.provisional])
    ]);
    if (key === drawn) return;
    drawn = key;
    document.querySelector(".site").textContent =
        now.site.name + (pages > 1 ? `  ${texts.wall.page(page + 1, pages)}` : "");
    list.classList.toggle("narrow", fit.narrow);
    list.style.setProperty("--scale", String(Math.round(fit.scale * 100) / 100));
    list.style.gridTemplateColumns = `repeat(${fit.columns}, minmax(0, 1fr))`;
    list.style.gridTemplateRows = `repeat(${
        Math.ceil(Math.min(fit.each, now.benches.length) / fit.columns)}, minmax(0, 1fr))`;
    list.replaceChildren(...shown.map(line));
    plainwater.dom.ready();
  }
  function start() {
    for (const what of ["now", "bench", "house"]) live.on(what, draw);
    live.on("connection", (yes) => {
      lost = yes ? 0 : lost || Date.now();
      draw();
    });
    addEventListener("resize", draw);
    setInterval(() => {
      ++page;
      draw();
    }, kTurn);
    live.start();
  }
  return {start};
})();
plainwater.dom.start(plainwater.wall.start);
