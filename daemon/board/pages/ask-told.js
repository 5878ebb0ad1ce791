// Parts of the dialog that tell: what will flow from a pump, what was decided, who asks, and why
// nothing came of a request.
"use strict";
plainwater.askTold = (() => {
  const {el} = plainwater.dom, texts = plainwater.texts, format = plainwater.format,
        live = plainwater.live;

  const facts = (pairs) =>
      el("dl", {class: "told"},
         pairs.filter(([, value]) => value)
             .map(([label, value]) => el("div", {}, el("dt", {}, label), el("dd", {}, value))));

  /// What flows once the pump is armed: {node, benches}.
  function flow(name) {
    const t = texts.ask.flow, now = live.now(),
          pump = now && now.pumps.find((p) => p.name === name), benches = pump ? pump.benches : [];
    const order = pump &&
        now.benches.filter((b) => benches.includes(b.name)).map((b) => b.order).find(Boolean);
    const dose = order && order.dose;
    const strength = !pump               ? t.unknown
        : pump.feeding === "plain-water" ? t.water
                                         : `${texts.feeding(pump.feeding, pump.strength_percent)} ${
                                               format.percent(pump.strength_percent)}`;
    const node =
        el("section", {class: "flow", "aria-label": t.head}, el("h3", {}, t.head), facts([
             [t.benches, benches.join(", ")],
             [
               t.strength,
               pump && pump.limited_by ? `${strength}, ${t.limited(pump.limited_by)}` : strength
             ],
             [
               t.dose,
               dose &&
                   [
                     texts.mix(dose.recipe, dose.water),
                     texts.ratio(format.number(dose.ml_per_litre, 2), "")
                   ].join("; ")
             ]
           ]));
    return {node, benches};
  }

  function lines(decisions) {
    if (!decisions.length) return el("p", {class: "quiet"}, texts.ask.noLines);
    return el(
        "section", {"aria-label": texts.ask.ledger}, el("h3", {}, texts.ask.ledger),
        el("ol", {class: "lines"},
           decisions.map(
               (row) =>
                   el("li", {"data-line": row.id},
                      el("p", {class: "quiet"},
                         [
                           row.bench, texts.decisions[row.decision] || row.decision,
                           format.moment(row.time)
                         ].filter(Boolean)
                             .join(" · ")),
                      el("p", {}, format.sentence(row.text))))));
  }

  const enter = (text) =>
      el("a", {href: `/enter?to=${encodeURIComponent(location.pathname)}`}, text);
  /// Who one is, and where one signs in.
  function stranger(who) {
    const t = texts.ask.who;
    return el(
        "p", {}, who && who.name ? t.known(who.name, t.roles[who.role] || who.role) : t.nobody, " ",
        enter(who && who.name ? t.other : t.signIn));
  }
  /// For a reader who may ask for nothing: why, and where to sign in.
  function reader(who) {
    const t = texts.ask.who;
    if (!who || who.role !== "look") return null;
    if (who.name) return el("p", {class: "reading quiet"}, t.looks(who.name), " ", enter(t.other));
    return el(
        "p", {class: "reading quiet"}, t.reading, " ",
        who.may_sign_in ? enter(t.toAsk) : format.sentence(who.why_not || ""));
  }
  function when(seconds) {
    const t = texts.ask;
    if (!seconds) return t.soon;
    return seconds < 90 ? t.inSeconds(seconds) : t.inMinutes(Math.ceil(seconds / 60));
  }
  /// Why it is not known, or why not, as a sentence of its own.
  function lost(got) {
    const t = texts.ask.lost;
    if (got.outcome === "often") return t.often(when(got.seconds));
    if (got.outcome === "busy") return [t.busy, format.sentence(got.detail)].join(" ");
    return t[got.outcome] || t.unknown;
  }
  return {flow, lines, stranger, reader, lost};
})();
