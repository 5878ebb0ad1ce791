// Figures, dates and temperatures as a person reads them: in the site's unit, by the site's local
// time. A date carries its year when it is more than half a year from the moment at which it is
// said: the service's own time (`at`), or that of the decision which is shown; never this
// machine's clock.
"use strict";
plainwater.format = (() => {
  const texts = plainwater.texts;
  let site = {name: "", time_zone: "UTC", unit: "celsius"};
  const kHalfYear = 182 * 86400000;  // the same day of another year is further away
  let clock = null, now = null;

  /// What the service's time is, from which dates are near or far.
  const at = (time) => void (now = time);

  function use(of) {
    if (clock && of.time_zone === site.time_zone && of.unit === site.unit) return void (site = of);
    site = of;
    const options = {
      year: "numeric",
      month: "numeric",
      day: "numeric",
      hour: "numeric",
      minute: "numeric",
      second: "numeric",
      hourCycle: "h23"
    };
    try {
      clock = new Intl.DateTimeFormat("en-GB", {...options, timeZone: site.time_zone});
    } catch {
      clock = new Intl.DateTimeFormat(
          "en-GB", {...options, timeZone: "UTC"});  // a zone that this browser does not know
    }
  }

  const fahrenheit = () => site.unit === "fahrenheit";
  const minus = (text) => text.replace("-", "−").replace(/^−(0(?:\.0+)?)$/, "$1");
  const figure = (value, decimals) =>
      minus(value.toFixed(decimals)).replace(".", () => texts.decimal);
  const number = (value, decimals) =>
      (value === null || value === undefined ? texts.none : figure(value, decimals));
  /// A whole number, as large as it may be: "12,345".
  const count = (n) => String(n).replace(/\B(?=(\d{3})+$)/g, () => texts.thousands);
  /// With as many decimals as it has.
  const plain = (value) => minus(String(value)).replace(".", () => texts.decimal);
  const unit = () => (fahrenheit() ? "°F" : "°C");
  /// °C as a figure of the site's unit.
  const inUnit = (c) => (c === null || c === undefined ? null : fahrenheit() ? c * 1.8 + 32 : c);
  const known = (value) => value !== null && value !== undefined;
  const temperature = (c, decimals = 1) =>
      (known(c) ? `${figure(inUnit(c), decimals)} ${unit()}` : texts.none);
  const difference = (c) =>
      (known(c) ? `${figure(fahrenheit() ? c * 1.8 : c, 1)} ${unit()}` : texts.none);
  const percent = (value) => (known(value) ? texts.percent(String(Math.round(value))) : texts.none);
  const share = (value) => (known(value) ? percent(value * 100) : texts.none);

  /// Milliseconds of the wall clock at the site, as if it were UTC: for the order of days on an
  /// axis.
  function wall(time) {
    if (!clock) use(site);
    const p = {};
    for (const part of clock.formatToParts(typeof time === "number" ? time : Date.parse(time)))
      p[part.type] = Number(part.value);
    return Date.UTC(p.year, p.month - 1, p.day, p.hour, p.minute, p.second);
  }
  const two = (n) => String(n).padStart(2, "0");
  const dayOf = (ms, year) => {
    const d = new Date(ms);
    return texts.date(
        String(d.getUTCDate()), texts.months[d.getUTCMonth()],
        year ? String(d.getUTCFullYear()) : "");
  };
  const timeOf = (ms) => `${two(new Date(ms).getUTCHours())}:${two(new Date(ms).getUTCMinutes())}`;
  /// "Oct 2026"
  const monthOf = (month, year) => texts.month(texts.months[month], String(year));
  const told = (time, how) => (time ? how(wall(time)) : texts.none);
  const momentOf = (ms) => texts.moment(dayOf(ms, true), timeOf(ms));
  const midnight = (ms) => ms - (((ms % 86400000) + 86400000) % 86400000);
  /// Whether a day is so far from the moment `said` that it needs its year.
  const far = (ms, said) => !said || Math.abs(midnight(ms) - midnight(wall(said))) > kHalfYear;
  /// "14 Oct"; "14 Oct 2027" where that is not the nearest such day.
  const day = (time, said = now) => told(time, (ms) => dayOf(ms, far(ms, said)));
  const dayYear = (time) => told(time, (ms) => dayOf(ms, true));
  /// "14 Oct 2026, 06:41"
  const moment = (time) => told(time, momentOf);
  const hour = (time) => told(time, timeOf);
  const weekday = (time) =>
      told(time, (ms) => texts.weekday(texts.weekdays[new Date(ms).getUTCDay()], momentOf(ms)));
  /// Of a date without a time, "2026-10-14".
  const evening = (date, year = far(Date.parse(date), now)) =>
      (date ? dayOf(Date.parse(date), year) : texts.none);
  /// A sentence of the service, which is in the site's language and unit, with minus signs as the
  /// page's own figures have them.
  const sentence = (text) => text.replace(/(^|[^\w.])-(?=\d)/g, "$1−");

  return {
    use,
    at,
    far: (ms) => far(ms, now),
    number,
    count,
    plain,
    temperature,
    difference,
    percent,
    share,
    inUnit,
    unit,
    wall,
    dayOf,
    monthOf,
    timeOf,
    day,
    dayYear,
    moment,
    hour,
    weekday,
    evening,
    sentence,
    known,
    site: () => site
  };
})();
