// The season's strip of one bench: nights as dots, what the plants are used to as a line, holds as
// bands above them, where it stood and the strength of its feed below.
"use strict";
plainwater.seasonPlot = (() => {
  const texts = plainwater.texts, format = plainwater.format, nights = plainwater.nights;
  const kHeight = 250, kHead = 36, kBelow = 44, kFeed = 30, kStay = 5, kLetters = 12;

  function dot(fill, stroke, radius, shape) {
    return (g, series, ctx, x, y) => {
      ctx.beginPath();
      if (shape === "diamond") {
        for (const [dx, dy] of [[0, -1], [1, 0], [0, 1], [-1, 0]])
          ctx.lineTo(x + dx * radius, y + dy * radius);
        ctx.closePath();
      } else {
        ctx.arc(x, y, radius, 0, 2 * Math.PI);
      }
      if (fill) (ctx.fillStyle = fill), ctx.fill();
      if (stroke) (ctx.strokeStyle = stroke), (ctx.lineWidth = 1), ctx.stroke();
    };
  }

  function drawHolds(ctx, area, g, ink, bench) {
    const x = (ms) => Math.min(Math.max(g.toDomXCoord(ms), area.x), area.x + area.w);
    const top = area.y + kHead, height = area.h - kHead - kBelow, ends = [-Infinity, -Infinity];
    ctx.font = `${kLetters}px ${ink.serif}`;
    ctx.textBaseline = "alphabetic";
    for (const hold of bench.holds) {
      const phases = nights.phases(hold);
      const beyond = area.x + area.w + 10;
      for (const phase of phases) {
        const a = x(phase.from),
              b = phase.to === null ? Math.min(x(g.xAxisExtremes()[1]), beyond) : x(phase.to);
        if (b - a < 0.5) continue;
        ctx.lineWidth = 1;
        ctx.setLineDash(phase.state === "held" ? [] : [4, 3]);
        ctx.strokeStyle = phase.state === "gone" ? ink.quiet : ink.slate;
        if (phase.state === "trial")
          (ctx.fillStyle = plainwater.plot.hatch(ctx, ink.slate)),
              ctx.fillRect(a, top, b - a, height);
        if (phase.state === "held")
          (ctx.fillStyle = ink.slate), (ctx.globalAlpha = 0.17),
              ctx.fillRect(a, top, b - a, height), (ctx.globalAlpha = 1);
        ctx.strokeRect(
            Math.round(a) + 0.5, top + 0.5, Math.max(1, Math.round(b - a) - 1), height - 1);
        ctx.setLineDash([]);
      }
      if (!phases.length || x(phases[0].from) >= area.x + area.w ||
          (phases[phases.length - 1].to !== null && x(phases[phases.length - 1].to) <= area.x))
        continue;
      const label = nights.holdName(hold), width = ctx.measureText(label).width;
      const at = Math.max(area.x, Math.min(x(phases[0].from) + 1, area.x + area.w - width)),
            line = at < ends[0] ? 1 : 0;
      if (at < ends[line]) continue;  // no room; the table below says it
      ends[line] = at + width + 8;
      ctx.fillStyle = ink.ink;
      ctx.fillText(label, at, top - 5 - line * (kLetters + 3));
    }
  }

  /// Chills as filled triangles, dips and falls that were let pass as hollow ones, under the holds'
  /// names.
  function drawMarks(ctx, area, g, ink, bench) {
    const top = area.y + kHead + 2;
    for (const mark of bench.marks) {
      const x = g.toDomXCoord(format.wall(mark.time));
      if (x < area.x || x > area.x + area.w) continue;
      ctx.beginPath();
      ctx.moveTo(x - 4, top);
      ctx.lineTo(x + 4, top);
      ctx.lineTo(x, top + 7);
      ctx.closePath();
      ctx.lineWidth = 1;
      ctx.strokeStyle = ctx.fillStyle = mark.kind === "fall" ? ink.rust : ink.slate;
      if (mark.kind === "chill") ctx.fill();
      ctx.stroke();
    }
  }

  function drawBelow(ctx, area, g, ink, list) {
    const bottom = area.y + area.h, stay = bottom - kBelow + 3;
    const [from, to] = g.xAxisRange();
    const runs = (key, call) => {
      for (let i = 0; i < list.length;) {
        let j = i + 1;
        while (j < list.length && key(list[j]) === key(list[i]) &&
               list[j].x - list[j - 1].x <= nights.kDay)
          ++j;
        const a = list[i].x - nights.kDay / 2, b = list[j - 1].x + nights.kDay / 2;
        if (b > from && a < to) {
          const x0 = Math.max(g.toDomXCoord(a), area.x),
                x1 = Math.min(g.toDomXCoord(b), area.x + area.w);
          if (x1 > x0) call(list[i], x0, x1 - x0);
        }
        i = j;
      }
    };
    const unsure = plainwater.plot.hatch(ctx, ink.quiet);
    runs((n) => `${n.position}${n.feeding === "unknown" && n.mean === null}`, (n, x, w) => {
      if (n.feeding === "unknown" && n.mean === null) return;  // no night is recorded
      if (n.position === "outdoors")
        (ctx.fillStyle = ink.out), ctx.fillRect(x, stay, w, kStay);
      else if (n.position === "unknown")
        (ctx.fillStyle = unsure), ctx.fillRect(x, stay, w, kStay);
    });
    runs((n) => `${n.feeding}${n.strength}`, (n, x, w) => {
      if (n.feeding === "unknown") return;
      const water = n.feeding === "plain-water", height = water ? 3 : (kFeed * n.strength) / 100;
      ctx.fillStyle = water ? ink.slate : ink.moss;
      ctx.fillRect(x, bottom - height, w, height);
    });
  }

  /// `before`: the nights of a year earlier, moved to this one's dates.
  function rowsOf(bench, before) {
    const u = format.inUnit, earlier = new Map(before.map((n) => [n.x, n]));
    return bench.list.map((n) => {
      const b = earlier.get(n.x) || {};
      return [
        n.x, n.counted ? u(n.mean) : null, n.counted ? null : u(n.mean), u(n.used),
        u(b.mean === undefined ? null : b.mean), u(b.used === undefined ? null : b.used)
      ];
    });
  }

  function say(bench, before, i) {
    const n = bench.list[i], b = before.get(n.x);
    if (n.feeding === "unknown" && n.mean === null)
      return texts.nightMissing(format.evening(n.date, true));
    const known = (c) => format.known(c) && format.temperature(c);
    const midnight = n.x,
          hold = bench.holds
                     .map(
                         (h) =>
                             [h,
                              nights.phases(h).find(
                                  (p) => p.from <= midnight + nights.kDay / 2 &&
                                      (p.to === null || p.to > midnight))])
                     .find(([, p]) => p);
    const words = n.feeding === "unknown" ? ""
                                          : plainwater.texts.feeding(n.feeding, n.strength) +
            (n.feeding === "plain-water" || n.strength >= 100 ? ""
                                                              : ` ${format.percent(n.strength)}`);
    const told = texts.night({
      day: format.evening(n.date, true),
      mean: known(n.mean),
      minimum: known(n.minimum),
      used: known(n.used),
      rate: format.known(n.rate) && format.share(n.rate),
      feeding: words,
      place: n.position === "indoors" ? "" : texts.positions[n.position],
      counted: n.counted,
      before: b && known(b.mean),
    });
    const marks = nights.marksAt(bench, midnight).map((m) => m.text);
    return [
      told,
      ...(hold ? [texts.holdNow(nights.holdName(hold[0]), texts.holdStates[hold[1].state])] : []),
      ...marks
    ].join(" · ");
  }

  /// Gives what plot.make gives.
  function draw(into, bench, before, span, readout, describedby) {
    const number = format.inUnit(bench.group_night_c), step = format.unit() === "°F" ? 10 : 5;
    const [lowC, highC] = nights.range([bench.list, before], bench.group_night_c);
    const low = Math.floor(format.inUnit(lowC) / step) * step,
          high = Math.ceil(format.inUnit(highC) / step) * step;
    const scale = (high - low) / (kHeight - 20 - kHead - kBelow);
    const byX = new Map(before.map((n) => [n.x, n]));
    return plainwater.plot.make({
      rows: rowsOf(bench, before),
      labels: ["x", "night", "uncounted", "used", "before", "beforeUsed"],
      name: texts.strip(bench.name),
      readout,
      span,
      describedby,
      leap: 7,
      head: kHead,
      into,
      height: kHeight,
      nothing: texts.readoutNone,
      say: (i) => say(bench, byX, i),
      underlay(ctx, area, g, ink) {
        ctx.save();
        drawHolds(ctx, area, g, ink, bench);
        drawMarks(ctx, area, g, ink, bench);
        const y = Math.round(g.toDomYCoord(number)) + 0.5;
        ctx.strokeStyle = ink.quiet;
        ctx.setLineDash([2, 4]);
        ctx.beginPath();
        ctx.moveTo(area.x, y);
        ctx.lineTo(area.x + area.w, y);
        ctx.stroke();
        ctx.setLineDash([]);
        drawBelow(ctx, area, g, ink, bench.list);
        ctx.restore();
      },
      options: (ink) => ({
        valueRange: [low - kBelow * scale, high + kHead * scale],
        strokeWidth: 0,
        drawPoints: true,
        pointSize: 2.2,
        connectSeparatedPoints: false,
        xAxisHeight: 20,
        series: {
          night: {color: ink.night, drawPointCallback: dot(ink.night, null, 2.2)},
          uncounted: {color: ink.quiet, drawPointCallback: dot(null, ink.quiet, 2.2)},
          used: {color: ink.rust, strokeWidth: 2, drawPoints: false},
          before: {color: ink.quiet, drawPointCallback: dot(null, ink.quiet, 2.8, "diamond")},
          beforeUsed: {color: ink.rust, strokeWidth: 1.2, strokePattern: [2, 4], drawPoints: false},
        },
        axes: {
          x: {ticker: plainwater.days.ticker, drawAxis: true, axisLabelWidth: 76},
          y: {
            ticker: () => Array.from(
                {length: Math.round((high - low) / step) + 1},
                (_, i) => ({
                  v: low + i * step,
                  label: `${format.number(low + i * step, 0)} ${format.unit()}`
                }))
          },
        },
      }),
    });
  }
  return {draw};
})();
