// One bench in words: what it may have, why, until when, what its plants run at, where it stands.
// The same on Today and on the bench's own page.
"use strict";
plainwater.entry = (() => {
  const {el, write, rewrite, field} = plainwater.dom, texts = plainwater.texts,
                             format = plainwater.format;

  /// "Weak feed 35 %", in words that say the strength only where the words do not.
  function feeding(bench) {
    const words = texts.feeding(bench.feeding, bench.strength_percent);
    return {
      words,
      strength: format.percent(bench.strength_percent),
      said: words !== texts.feedings["plain-water"] && words !== texts.feedings.full
    };
  }
  const spoken = (bench) => {
    const f = feeding(bench);
    return f.said ? `${f.words} ${f.strength}` : f.words;
  };
  function until(bench) {
    if (bench.hold && bench.hold.decides)
      return texts.until.decides(format.day(bench.hold.decides));
    // An end that a person set is a date.
    const reckoned = bench.hold && !["grower", "announced"].includes(bench.hold.cause);
    if (bench.until) return texts.until[reckoned ? "ends" : "looked"](format.day(bench.until));
    return bench.since ? texts.until.since(format.day(bench.since)) : texts.until.open;
  }
  function place(bench) {
    const moves = bench.place.moves !== "never" && bench.place.since;
    return texts.place(bench.place) +
        (moves ? ` ${texts.placeSince(format.day(bench.place.since))}` : "");
  }
  const figure = (name, text) => el("b", {"data-field": name}, text);
  function plants(bench) {
    const n = bench.night, rate = figure("rate", format.share(n.metabolic_rate)),
          night = figure("night", format.temperature(n.mean_c)),
          used = figure("used-to", format.temperature(n.acclimated_c));
    const has = (c) => c !== null && c !== undefined;
    if (has(n.metabolic_rate) && has(n.mean_c) && has(n.acclimated_c))
      return texts.plants(rate, night, used);
    if (has(n.mean_c)) return texts.plantsNoUsed(night);
    return has(n.acclimated_c) ? texts.plantsBlind(used) : [texts.plantsNothing];
  }
  /// What its pump does of that, where it is less.
  function pump(bench) {
    const o = bench.order;
    if (!o || !o.pump) return "";
    if (o.untrusted) return texts.pumpGives.untrusted(o.pump);
    if (o.pump_mode !== "armed") return texts.pumpGives.advice(o.pump);
    if (o.pump_strength_percent >= bench.strength_percent) return "";
    const gives = o.pump_strength_percent > 0 ? format.percent(o.pump_strength_percent)
                                              : texts.pumpGives.water;
    return texts.pumpGives.less(
        o.pump, gives, o.limited_by && o.limited_by !== bench.name ? o.limited_by : "");
  }
  const remarks = (bench) => [texts.groups[bench.group], bench.learning && texts.learning,
                              bench.blind && texts.blind]
                                 .filter(Boolean)
                                 .join("; ");

  /// An article for the bench; `deep`: on its own page, without a link to it.
  function make(bench, deep) {
    const names = plainwater.names, whole = names.whole(bench.name);
    const name = deep ? whole : el("a", {href: `/bench/${encodeURIComponent(bench.name)}`}, whole);
    return el(
        "article",
        {class: "entry", "data-bench": bench.name, "aria-label": texts.benchLink(bench.name)},
        el("header", {class: "who"}, names.fit(el(deep ? "h1" : "h3", {}, name), bench.name),
           el("p", {class: "quiet"}, el("span", {class: "remarks"})),
           el("p", {class: "quiet"}, el("span", {"data-field": "position"}))),
        el("div", {class: "sign"}),
        el("div", {class: "said"},
           el("p", {class: "words"}, el("span", {class: "may"}), " ",
              el("span", {class: "till", "data-field": "until"})),
           el("p", {"data-field": "because"}), el("p", {class: "plants"}),
           el("p", {class: "quiet", "data-field": "pump"})),
        el("div", {class: "lately"}));
  }

  /// Brings the article up to the bench; gives what it now says of feeding when that is new, else
  /// "".
  function update(node, bench) {
    const f = feeding(bench), may = node.querySelector(".may"), now = spoken(bench),
          trial = Boolean(bench.hold && bench.hold.provisional);
    const strength = el("span", {"data-field": "strength", hidden: !f.said}, f.strength);
    const key = `${bench.feeding} ${bench.strength_percent} ${trial}`, before = node.dataset.key;
    if (before !== key) {
      node.dataset.key = key;
      node.querySelector(".sign").replaceChildren(
          plainwater.sign.draw(bench.feeding, bench.strength_percent, trial));
      may.className = `may ${bench.feeding}`;
      may.replaceChildren(
          el("span", {"data-field": "feeding"}, f.words, f.said ? [" ", strength] : []),
          f.said ? "" : strength);
      if (before) may.classList.add("written");
    }
    rewrite(field(node, "because"), format.sentence(bench.because || ""));
    rewrite(field(node, "until"), until(bench));
    rewrite(field(node, "position"), place(bench));
    write(node.querySelector(".remarks"), remarks(bench));
    write(field(node, "pump"), pump(bench));
    const told = plants(bench), line = node.querySelector(".plants"),
          text = told.map((t) => (typeof t === "string" ? t : t.textContent)).join("");
    if (line.textContent !== text) line.replaceChildren(...told);
    return before && before !== key ? now : "";
  }
  return {make, update, spoken, until, place};
})();
