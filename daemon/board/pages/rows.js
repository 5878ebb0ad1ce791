// Rows of the ledger: when, which bench, what and why; the figures unfold.
"use strict";
plainwater.rows = (() => {
  const {el} = plainwater.dom, texts = plainwater.texts, format = plainwater.format,
        names = plainwater.names;

  const kFed = /^(hold-|feeding-)/;  // decisions after which a sign tells what the bench may have

  function more(row) {
    const out = [];
    if (row.cause)
      out.push([texts.ledger.because, texts.causes[row.cause] || row.cause.replace(/-/g, " ")]);
    if (row.since) out.push([texts.ledger.since, format.moment(row.since)]);
    if (row.hold)
      out.push([
        texts.ledger.hold,
        texts.holdDates(
            format.dayYear(row.hold.placed), format.day(row.hold.earliest_end, row.time),
            format.day(row.hold.latest_end, row.time))
      ]);
    const words = texts.feeding(row.feeding, row.strength_percent);
    out.push([
      texts.ledger.after,
      row.feeding === "plain-water" || row.strength_percent >= 100
          ? words
          : `${words} ${format.percent(row.strength_percent)}`
    ]);
    return out;
  }
  /// A bench that the settings name no more has no page.
  const here = (name) =>
      !plainwater.live.now() || plainwater.live.now().benches.some((b) => b.name === name);
  /// `linked`: the bench's name leads to its page.
  function make(row, linked) {
    const href = `/bench/${encodeURIComponent(row.bench)}`;
    const bench = !row.bench        ? texts.ledger.house
        : linked && here(row.bench) ? el("a", {href}, names.whole(row.bench))
                                    : names.whole(row.bench);
    const figures =
        el("details", {},
           el("summary", {}, texts.ledger.evidence,
              el("span", {class: "hidden"}, ` – ${format.moment(row.time)}`)));
    figures.addEventListener(
        "toggle",
        () => figures.open && figures.children.length === 1 &&
            figures.append(plainwater.evidence.list(row.evidence, more(row))));
    return el(
        "li", {class: `row ${row.decision}`, "data-row": row.id},
        el("p", {class: "where"}, names.fit(el("span", {"data-field": "bench"}, bench), row.bench),
           el("time", {datetime: row.time, "data-field": "time"}, format.moment(row.time))),
        el("div", {class: "after-sign"},
           kFed.test(row.decision)
               ? plainwater.sign.draw(
                     row.feeding, row.strength_percent, row.decision === "hold-placed")
               : ""),
        el("div", {class: "what"},
           el("p", {class: "kind", "data-field": "decision"},
              texts.decisions[row.decision] || row.decision),
           el("p", {"data-field": "text"}, format.sentence(row.text)), figures));
  }
  return {make};
})();
