// A strip in numbers: its holds and its months, for reading and for screen readers.
"use strict";
plainwater.seasonTable = (() => {
  const {el, table} = plainwater.dom, texts = plainwater.texts, format = plainwater.format,
             nights = plainwater.nights;
  const mean = (list) => (list.length ? list.reduce((sum, c) => sum + c, 0) / list.length : null);

  function holds(bench) {
    const t = texts.holdsTable;
    if (!bench.holds.length) return el("p", {class: "quiet"}, t.none);
    return table(
        t.caption, [t.placed, t.cause, t.state, t.ended, t.days], bench.holds.map((h) => {
          const days = h.ended ? (Date.parse(h.ended) - Date.parse(h.placed)) / nights.kDay : null;
          const state = nights.holdState(h),
                end = h.ended               ? format.dayYear(h.ended)
              : h.latest_end && h.confirmed ? texts.toLatest(format.day(h.latest_end))
                                            : texts.none;
          return [
            format.dayYear(h.placed), texts.causes[h.cause] || h.cause,
            (state === "over" && h.confirmed ? texts.holdStates.done : texts.holdStates[state]) +
                (h.extended ? `, ${texts.extended(h.extended)}` : ""),
            end, format.number(days, 0)
          ];
        }),
        [4]);
  }

  function months(bench) {
    const t = texts.monthsTable, by = new Map();
    for (const n of bench.list) {
      const key = n.date.slice(0, 7);
      if (!by.has(key)) by.set(key, []);
      by.get(key).push(n);
    }
    const rows = [...by].map(([key, list]) => {
      const counted = list.filter((n) => n.counted && n.mean !== null),
            lowest = list.map((n) => n.minimum).filter(format.known),
            used = list.map((n) => n.used).filter(format.known),
            fed = list.filter((n) => n.feeding !== "unknown");
      return [
        format.monthOf(Number(key.slice(5)) - 1, key.slice(0, 4)),
        String(list.length),
        format.temperature(mean(counted.map((n) => n.mean))),
        format.temperature(lowest.length ? Math.min(...lowest) : null),
        format.temperature(used.length ? used[used.length - 1] : null),
        String(list.filter((n) => n.feeding === "plain-water").length),
        format.percent(mean(fed.map((n) => n.strength))),
        String(list.filter((n) => n.position === "outdoors").length),
      ];
    });
    return table(
        t.caption, [t.month, t.nights, t.mean, t.minimum, t.used, t.water, t.strength, t.outdoors],
        rows, [1, 2, 3, 4, 5, 6, 7]);
  }
  /// Each hold as a line under its strip; null without any.
  function holdLines(bench) {
    if (!bench.holds.length) return null;
    return el("ul", {class: "hold-lines"}, bench.holds.map((h) => {
      const state = nights.holdState(h),
            said =
                state === "over" && h.confirmed ? texts.holdStates.done : texts.holdStates[state];
      const name = (texts.causes[h.cause] || h.cause) +
          (h.extended ? `, ${texts.extended(h.extended)}` : "");
      return el(
          "li", {},
          texts.holdInWords(
              name, format.day(h.placed), h.ended ? format.day(h.ended) : "",
              h.confirmed && h.latest_end ? format.day(h.latest_end) : "", said));
    }));
  }
  /// Folded away; what it says is made when it is opened.
  function make(bench) {
    const details =
        el("details", {class: "numbers"},
           el("summary", {}, texts.numbers,
              el("span", {class: "hidden"}, ` – ${texts.strip(bench.name)}`)));
    details.addEventListener(
        "toggle",
        () => details.open && details.children.length === 1 &&
            details.append(el("div", {class: "both"}, holds(bench), months(bench))));
    return details;
  }
  return {make, holdLines};
})();
