// The expected text of the pages, written from the documented words and formats, not from the
// pages' own code.
"use strict";
const kMonths =
    ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

/// How `site` writes times and temperatures.
function by(site) {
  const parts = (time) => Object.fromEntries(new Intl
                                                 .DateTimeFormat("en-GB", {
                                                   timeZone: site.time_zone,
                                                   year: "numeric",
                                                   month: "numeric",
                                                   day: "numeric",
                                                   hour: "2-digit",
                                                   minute: "2-digit",
                                                   hourCycle: "h23",
                                                 })
                                                 .formatToParts(new Date(time))
                                                 .map((p) => [p.type, p.value]));
  const day = (time) => ((p) => `${Number(p.day)} ${kMonths[p.month - 1]}`)(parts(time));
  const moment = (time) =>
      ((p) => `${Number(p.day)} ${kMonths[p.month - 1]} ${p.year}, ${p.hour}:${p.minute}`)(
          parts(time));
  const evening = (date) => `${Number(date.slice(8))} ${kMonths[Number(date.slice(5, 7)) - 1]}`;
  const fahrenheit = site.unit === "fahrenheit";
  const temperature = (c) => `${(fahrenheit ? c * 9 / 5 + 32 : c).toFixed(1).replace("-", "−")} ${
      fahrenheit ? "°F" : "°C"}`;
  return {day, moment, evening, temperature, share: (x) => `${Math.round(x * 100)} %`};
}

/// "Plain water", "Weak feed 35 %", "Feed 80 %", "Full feed"
function feeding(word, percent) {
  if (word === "plain-water") return "Plain water";
  if (word === "full" && percent >= 100) return "Full feed";
  return `${word === "reduced" && percent <= 50 ? "Weak feed" : "Feed"} ${percent} %`;
}
/// The minus sign, where a page may write it differently from the service.
const plain = (text) => text.replaceAll("−", "-").replace(/\s+/g, " ").trim();

module.exports = {
  by,
  feeding,
  plain
};
