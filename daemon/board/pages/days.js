// Ticks of a time axis of days: months while they fit, then weeks, then days. Labels by the table
// of texts.
"use strict";
plainwater.days = (() => {
  const kDay = 86400000, texts = plainwater.texts;
  const month = (ms, named) => {
    const d = new Date(ms), m = d.getUTCMonth();
    return named || m === 0 ? plainwater.format.monthOf(m, d.getUTCFullYear()) : texts.months[m];
  };
  function months(from, to, room) {
    const first = new Date(from), ticks = [];
    const all = [];
    for (let y = first.getUTCFullYear(), m = first.getUTCMonth();; ++m) {
      const ms = Date.UTC(y, m, 1);
      if (ms > to) break;
      if (ms >= from) all.push(ms);
    }
    const every = [1, 2, 3, 6, 12].find((n) => (all.length / n) * 46 <= room) || 12;
    all.forEach((ms) => {
      const d = new Date(ms);
      if (d.getUTCMonth() % every === 0)
        ticks.push({
          v: ms,
          label: month(ms, ticks.length === 0 && every > 1 ? false : ticks.length === 0)
        });
    });
    return ticks;
  }
  /// As dygraphs asks for them.
  function ticker(from, to, pixels) {
    const days = (to - from) / kDay;
    if (days > 62) return months(from, to, pixels);
    const every = [1, 2, 7, 14, 28].find((n) => (days / n) * 60 <= pixels) || 28, ticks = [];
    for (let ms = Math.ceil(from / kDay) * kDay; ms <= to; ms += kDay) {
      const n = Math.round(ms / kDay);
      if (n % every !== 0) continue;
      const year = ticks.length === 0 && plainwater.format.far(ms);
      ticks.push({v: ms, label: plainwater.format.dayOf(ms, year)});
    }
    return ticks;
  }
  return {ticker};
})();
