// A bench's season, unpacked: one entry a night, holds beside them.
"use strict";
plainwater.nights = (() => {
  const kDay = 86400000;
  function unrun(runs, n) {
    const out = [];
    for (const [word, times] of runs)
      for (let i = 0; i < times && out.length < n; ++i) out.push(word);
    return out;
  }
  const iso = (ms) => new Date(ms).toISOString().slice(0, 10);
  const shifted = (date, days) => iso(Date.parse(date) + days * kDay);
  /// The same day of another year; null where there is none (29 February).
  function inYear(date, by) {
    const other = `${String(Number(date.slice(0, 4)) + by).padStart(4, "0")}${date.slice(4)}`;
    return Number.isNaN(Date.parse(other)) || iso(Date.parse(other)) !== other ? null : other;
  }

  /// A SeasonBench with `list`: nights in order, each with its evening's date and `x`, the midnight
  /// in it.
  function unpack(bench) {
    const n = bench.nights, counted = unrun(bench.counted, n), position = unrun(bench.position, n),
          feeding = unrun(bench.feeding, n), strength = unrun(bench.strength_percent, n);
    const first = bench.first_night ? Date.parse(bench.first_night) : 0;
    const list = Array.from({length: n}, (_, i) => ({
                                           date: iso(first + i * kDay),
                                           x: first + (i + 1) * kDay,
                                           mean: bench.mean_c[i],
                                           minimum: bench.minimum_c[i],
                                           used: bench.acclimated_c[i],
                                           rate: bench.metabolic_rate[i],
                                           coverage: bench.coverage[i],
                                           counted: counted[i],
                                           position: position[i],
                                           feeding: feeding[i],
                                           strength: strength[i],
                                         }));
    return {
      name: bench.name,
      group: bench.group,
      group_night_c: bench.group_night_c,
      chill_floor_c: bench.chill_floor_c,
      holds: bench.holds,
      marks: bench.marks,
      list
    };
  }
  const unpacked = (season) => (
      {from: season.from, to: season.to, years: season.years, benches: season.benches.map(unpack)});

  /// Only the nights from `from` to `to` (dates), and the holds that touch them.
  function cut(season, from, to) {
    const marked = (m) => m.time.slice(0, 10) >= from && m.time.slice(0, 10) <= shifted(to, 1);
    const within = (h) => h.placed.slice(0, 10) <= to && (!h.ended || h.ended.slice(0, 10) >= from);
    return {
      ...season,
      from,
      to,
      benches: season.benches.map((b) => ({
                                    ...b,
                                    list: b.list.filter((n) => n.date >= from && n.date <= to),
                                    holds: b.holds.filter(within),
                                    marks: b.marks.filter(marked)
                                  }))
    };
  }

  /// "trial", "held", "gone" with the wall-clock milliseconds between which a hold was so; `to`
  /// null: it lasts.
  function phases(hold) {
    const at = plainwater.format.wall, placed = at(hold.placed),
          ended = hold.ended ? at(hold.ended) : null;
    if (hold.withdrawn) return [{state: "gone", from: placed, to: ended}];
    const confirmed = hold.confirmed ? at(hold.confirmed) : null, list = [];
    if (confirmed === null || confirmed > placed)
      list.push({state: "trial", from: placed, to: confirmed === null ? ended : confirmed});
    if (confirmed !== null) list.push({state: "held", from: confirmed, to: ended});
    return list;
  }
  const holdState = (hold) =>
      (hold.withdrawn       ? "gone"
           : hold.ended     ? "over"
           : hold.confirmed ? "held"
                            : "trial");
  function holdName(hold) {
    const texts = plainwater.texts;
    return (texts.causes[hold.cause] || hold.cause.replace(/-/g, " ")) +
        (hold.extended ? `, ${texts.extended(hold.extended)}` : "") +
        (hold.withdrawn ? `, ${texts.holdStates.gone}` : "");
  }
  /// What is marked between this midnight's noon before and the one after.
  const marksAt = (bench, midnight) =>
      bench.marks.filter((m) => Math.abs(plainwater.format.wall(m.time) - midnight) <= kDay / 2);
  /// Temperatures to draw between, in °C, on whole fives.
  function range(lists, number) {
    let low = number, high = number;
    for (const list of lists)
      for (const n of list)
        for (const c of [n.mean, n.used])
          if (c !== null && c !== undefined) (low = Math.min(low, c)), (high = Math.max(high, c));
    low = Math.floor(low / 5) * 5;
    high = Math.ceil((high + 0.01) / 5) * 5;
    return [low, Math.max(high, low + 10)];
  }
  return {
    marksAt,
    unpack,
    unpacked,
    cut,
    phases,
    holdState,
    holdName,
    range,
    shifted,
    inYear,
    kDay
  };
})();
