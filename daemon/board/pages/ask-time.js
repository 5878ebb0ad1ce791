// Times of a request: chosen by the clock of the site, sent in UTC. What is offered counts from the
// service's time, never from this machine's clock.
"use strict";
plainwater.askTime = (() => {
  const texts = plainwater.texts, format = plainwater.format;
  const kHour = 3600000, kDay = 24 * kHour;
  // Requests about what has happened already.
  const kPast = new Set(["move", "watered", "runoff"]);

  /// The moment at which the site's clocks show this (milliseconds, as if it were UTC); null where
  /// they never do. Of two such moments the first.
  function moment(wall) {
    const shows = (utc) => format.wall(utc) === Math.floor(wall / 1000) * 1000;
    const offset = (utc) => format.wall(utc) - utc;
    const tried = [-kDay, kDay].map((off) => wall - offset(wall + off)).sort((a, b) => a - b);
    const found = tried.find(shows);
    return found === undefined ? null : found;
  }
  /// "2026-10-22T18:30" as datetime-local has it; null where it is no time of the site.
  const parsed = (text) => {
    const wall = Date.parse(`${text}Z`);
    return Number.isNaN(wall) ? null : moment(wall);
  };
  const shown = (utc) => new Date(format.wall(utc)).toISOString().slice(0, 16);
  const sent = (utc) => new Date(utc).toISOString().replace(/\.\d+Z$/, "Z");

  const later = (wall, days, hour) =>
      wall - (((wall % kDay) + kDay) % kDay) + days * kDay + hour * kHour;
  /// At the same time of the day, `days` on; an hour further on where the clocks leave that out.
  const after = (from, days) => {
    const wall = Math.floor(format.wall(from) / 60000) * 60000 + days * kDay;
    return moment(wall) ?? moment(wall + kHour);
  };
  function began(now) {
    const t = texts.ask.times, wall = format.wall(now);
    const morning = moment(later(wall, 0, 7)), evening = moment(later(wall, -1, 19));
    return [
      {key: "now", text: t.now, at: null},
      morning < now && {key: "morning", text: t.morning, at: morning},
      {key: "evening", text: t.evening, at: evening}
    ];
  }
  function begins(now) {
    const t = texts.ask.times, wall = format.wall(now);
    const tonight = moment(later(wall, 0, 18));
    return [
      {key: "now", text: t.now, at: null},
      tonight > now && {key: "tonight", text: t.tonight, at: tonight},
      {key: "tomorrow", text: t.tomorrow, at: moment(later(wall, 1, 8))}
    ];
  }
  /// `begin`: when what is asked for begins, from which its days count.
  function ends(now, begin, ask, needed, bench) {
    const t = texts.ask.times;
    if (ask.request === "extend") {
      const planned = bench && bench.hold && bench.until ? Date.parse(bench.until) : now;
      const from = Math.max(now, planned);
      return [
        {key: "3d", text: t.moreDays(3), at: after(from, 3)},
        {key: "1w", text: t.moreWeeks(1), at: after(from, 7), usual: true},
        {key: "2w", text: t.moreWeeks(2), at: after(from, 14)},
        {key: "4w", text: t.moreWeeks(4), at: after(from, 28)}
      ];
    }
    const tomorrow = moment(later(format.wall(now), 1, 8));
    const days = [
      tomorrow > begin &&
          {key: "tomorrow", text: t.tomorrowAt(format.hour(sent(tomorrow))), at: tomorrow},
      {key: "3d", text: t.days(3), at: after(begin, 3)},
    ];
    if (ask.request === "end-chill") return [{...days[0], usual: true}, days[1]];
    return [
      ...days, {key: "1w", text: t.weeks(1), at: after(begin, 7)},
      {key: "4w", text: t.weeks(4), at: after(begin, 28), usual: true},
      !needed && {key: "open", text: t.open, at: null}
    ];
  }
  /// What is offered for a field, where it begins at `begin` (milliseconds): [{key, text, at:
  /// milliseconds or null to leave it out, usual}].
  function choices(ask, field, bench, begin) {
    const now = Date.parse(plainwater.live.heard());
    if (Number.isNaN(now)) return [];
    const all = field.name === "until"
        ? ends(now, Math.max(now, begin ?? now), ask, field.needed, bench)
        : kPast.has(ask.request) ? began(now)
                                 : begins(now);
    return all.filter(Boolean).filter((c) => !field.needed || c.at !== null);
  }
  return {choices, parsed, shown, sent};
})();
