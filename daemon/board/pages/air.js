// The bench's air of two days: temperature by sensor, humidity, vapour pressure deficit, one below
// the other.
"use strict";
plainwater.air = (() => {
  const {el, table} = plainwater.dom, texts = plainwater.texts, format = plainwater.format;
  const kDashes = [null, [7, 3], [2, 3], [9, 3, 2, 3]], kHour = 3600000, kSilence = 2 * kHour;
  let plots = [], span = null;

  /// Ticks at whole hours of the site's day.
  function ticker(from, to, pixels) {
    const hours = (to - from) / kHour,
          every = [1, 2, 3, 6, 12, 24].find((n) => (hours / n) * 62 <= pixels) || 24, ticks = [];
    for (let t = Math.ceil(from / kHour) * kHour; t <= to; t += kHour) {
      const wall = format.wall(t), hour = new Date(wall).getUTCHours();
      if (hour % every === 0)
        ticks.push({v: t, label: hour === 0 ? format.dayOf(wall, false) : format.timeOf(wall)});
    }
    return ticks;
  }
  /// Four lines or so, at round figures.
  function levels(low, high) {
    const step = [0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50].find((s) => (high - low) / s <= 4.5) ||
        100,
          ticks = [];
    for (let k = Math.ceil(low / step); k * step <= high; ++k)
      ticks.push({v: k * step, label: format.number(k * step, step < 0.1 ? 2 : step < 1 ? 1 : 0)});
    return ticks;
  }
  /// A sensor that reports less often than the steps is one line all the same; silence is a gap,
  /// which is NaN to dygraphs.
  function joined(rows, k) {
    for (let i = 0, last = -1; i <= rows.length; ++i) {
      if (i < rows.length && !format.known(rows[i][k])) continue;
      const gap = last >= 0 && i < rows.length && rows[i][0] - rows[last][0] > kSilence;
      for (let j = last + 1; gap && j < i; ++j) rows[j][k] = NaN;
      last = i;
    }
  }
  function plot(node, name, what, rows, labels, unit, digits, inks) {
    const readout = el("p", {class: "readout idle", "data-field": "readout"}, texts.airReadoutNone),
          place = el("div", {});
    node.append(
        el("figure", {class: "air"},
           el("figcaption", {}, el("h3", {}, what), el("p", {class: "quiet"}, unit)),
           el("div", {class: "body"}, readout, place)));
    const told = (value) =>
        (format.known(value) && !Number.isNaN(value) ? `${format.number(value, digits)} ${unit}`
                                                     : texts.none);
    labels.forEach((_, k) => joined(rows, k + 1));
    plots.push(plainwater.plot.make({
      rows,
      labels: ["x", ...labels],
      name: texts.airPlot(what, name),
      readout,
      span,
      leap: 6,
      height: 150,
      into: place,
      nothing: texts.airReadoutNone,
      say: (i) => [format.moment(rows[i][0]),
                   ...labels.map(
                       (l, k) => `${labels.length > 1 || l !== what ? `${l} ` : ""}${
                           told(rows[i][k + 1])}`)]
                      .join(" · "),
      options: (ink) => ({
        colors: labels.map((_, k) => ink[inks[k % inks.length]]),
        strokeWidth: 1.6,
        drawPoints: false,
        connectSeparatedPoints: true,
        xAxisHeight: 20,
        series: Object.fromEntries(
            labels.map((l, k) => [l, {strokePattern: kDashes[k % kDashes.length]}])),
        axes: {x: {ticker}, y: {ticker: levels}},
      }),
    }));
  }

  async function show(node, path, name) {
    const got = await plainwater.live.read(path), from = Date.parse(got.from),
          step = got.step_s * 1000;
    plots.forEach((p) => p.remove());
    plots = [];
    const n = Math.max(got.vpd_kpa.length, ...got.sensors.map((s) => s.temperature_c.length)),
          times = Array.from({length: n}, (_, i) => from + i * step);
    const some = (key) => got.sensors.filter((s) => s[key].some(format.known)),
          label = (s) => (s.trusted ? s.name : `${s.name} (${texts.mistrusted})`);
    const warm = some("temperature_c"), damp = some("humidity_percent"),
          at = (list, i) => (i < list.length ? list[i] : null);
    node.replaceChildren();
    if (!warm.length) return void node.append(el("p", {}, texts.airNone));
    if (!span) span = plainwater.span.make(2 * kHour);
    if (span.whole()) span.setAll(from, from + n * step);
    const keys =
        [el("ul", {class: "legend"},
            warm.map(
                (s, k) =>
                    el("li", {},
                       plainwater.dom.svg(
                           "svg", {class: "short", viewBox: "0 0 30 8", "aria-hidden": "true"},
                           plainwater.dom.svg("path", {
                             class: "line",
                             d: "M0 4H30",
                             "stroke-dasharray": kDashes[k % kDashes.length] &&
                                 kDashes[k % kDashes.length].join(" ")
                           })),
                       label(s))))];
    node.append(...keys);
    const inks = ["rust", "slate", "moss", "ink"];
    plot(
        node, name, texts.airPlots.temperature,
        times.map((t, i) => [t, ...warm.map((s) => format.inUnit(at(s.temperature_c, i)))]),
        warm.map(label), format.unit(), 1, inks);
    if (damp.length)
      plot(
          node, name, texts.airPlots.humidity,
          times.map((t, i) => [t, ...damp.map((s) => at(s.humidity_percent, i))]), damp.map(label),
          "%", 0, inks);
    if (got.vpd_kpa.some(format.known))
      plot(
          node, name, texts.airPlots.vpd, times.map((t, i) => [t, at(got.vpd_kpa, i)]),
          [texts.airPlots.vpd], "kPa", 2, ["night"]);
    const every = Math.max(1, Math.round((3 * kHour) / step)), rows = [];
    for (let i = n - 1; i >= 0; i -= every)
      rows.push([
        format.moment(times[i]), ...warm.map((s) => format.temperature(at(s.temperature_c, i))),
        ...damp.map((s) => format.percent(at(s.humidity_percent, i))),
        format.known(at(got.vpd_kpa, i)) ? `${format.number(at(got.vpd_kpa, i), 2)} kPa`
                                         : texts.none
      ]);
    const details =
        el("details", {class: "numbers"},
           el("summary", {}, texts.numbers,
              el("span", {class: "hidden"}, ` – ${document.querySelector("#h-air").textContent}`)));
    details.addEventListener(
        "toggle",
        () => details.open && details.children.length === 1 &&
            details.append(table(
                texts.airTable.caption,
                [
                  texts.airTable.time, ...warm.map(label),
                  ...damp.map((s) => `${s.name}, ${texts.airPlots.humidity}`), texts.airPlots.vpd
                ],
                rows, rows[0].map((_, i) => i).slice(1))));
    node.append(details);
  }
  return {show};
})();
