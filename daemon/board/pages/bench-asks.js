// What may be asked for on a bench's page: for the bench, for its pump, beside each thing that
// needs a person, and for each announced hold.
"use strict";
plainwater.benchAsks = (() => {
  const {el, write} = plainwater.dom, texts = plainwater.texts, format = plainwater.format,
             ask = plainwater.ask, send = plainwater.askSend;
  // What is asked for most, in the order of a hand that looks for it.
  const kRow = ["release", "hold", "watered", "move", "note"];
  const held = (b) => Boolean(b.hold);
  // What is said elsewhere, or has no sense as the bench is now. The service has the last word.
  const kSensible = {
    release: held,
    extend: held,
    "end-chill": (b) => b.cause === "chill",
    "growth-started": (b) => !held(b) && b.feeding !== "full",
    move: (b) => b.place.moves !== "never",
    runoff: (b) => Boolean(b.salts),
    withdraw: () => false,
    retire: () => false,
    acknowledge: () => false,
  };
  // What else than to acknowledge it may be the answer to a need.
  const kAnswers = {
    chill: (n) => [{request: "end-chill", bench: n.bench}],
    "pump-untrusted": (n) => [{request: "trust", pump: n.pump}],
    "please-decide": (n, bench) =>
        (bench && held(bench)
             ? [{request: "release", bench: n.bench}, {request: "extend", bench: n.bench}]
             : [{request: "growth-started", bench: n.bench}]),
    "no-watering": (n) => [{request: "watered", bench: n.bench}],
    "salts-up": (n) => [{request: "watered", bench: n.bench}, {request: "runoff", bench: n.bench}],
  };

  function presets(request, bench) {
    const place = bench.place.position;
    if (request !== "move" || place === "unknown") return {};
    return {to: place === "outdoors" ? "indoors" : "outdoors"};
  }
  /// [those of the row, those behind "More"]
  function ofBench(bench) {
    const asks =
        send.kinds()
            .filter((k) => k.of === "bench")
            .filter((k) => (kSensible[k.request] || (() => true))(bench))
            .map((k) => ({request: k.request, bench: bench.name, ...presets(k.request, bench)}));
    const rank = (a) => kRow.indexOf(a.request);
    return [
      asks.filter((a) => rank(a) >= 0).sort((a, b) => rank(a) - rank(b)),
      asks.filter((a) => rank(a) < 0)
    ];
  }
  function ofPump(pump) {
    if (!pump.trusted) return [{request: "trust", pump: pump.name}];
    return [{request: pump.armed ? "disarm" : "arm", pump: pump.name}];
  }

  function announced(bench) {
    const list = bench.announced || [], t = texts.ask.bench;
    if (!list.length) return null;
    return el(
        "section", {class: "announced", "aria-label": t.announced}, el("h3", {}, t.announced),
        el("ul", {}, list.map((hold) => {
          const day = format.day(hold.from);
          return el(
              "li", {"data-announced": hold.id},
              el("p", {}, t.announcedLine(day, format.day(hold.until), hold.who),
                 hold.note ? el("span", {class: "quiet"}, ` ${hold.note}`) : ""),
              el("div", {class: "ask-row"},
                 ask.button(
                     {
                       request: "hold",
                       bench: bench.name,
                       instead: hold.id,
                       from: hold.from,
                       until: hold.until,
                       ...(hold.note ? {note: hold.note} : {})
                     },
                     {label: texts.ask.change, what: `${bench.name}, ${day}`}),
                 ask.button(
                     {request: "withdraw", bench: bench.name, hold: hold.id},
                     {what: `${bench.name}, ${day}`})));
        })));
  }
  function pumpPart(pump) {
    const buttons = pump && ask.row(ofPump(pump));
    if (!buttons) return null;
    const head = texts.ask.bench.pump(pump.name);
    return el(
        "section", {class: "pump", "aria-label": head}, el("h3", {}, head),
        el("p", {class: "quiet"}, texts.pumpState(pump)), buttons);
  }

  /// Writes the part `node` of the page anew where that says something else than before.
  function show(node, bench, pump) {
    const who = send.who();
    if (!who) return void (node.hidden = true);
    const [row, more] = ofBench(bench);
    const key = JSON.stringify(
        [who.role, row, more, bench.announced, pump && [pump.armed, pump.trusted, pump.name]]);
    if (node.dataset.key === key) return;
    node.dataset.key = key;
    const open = node.querySelector("details")?.open, rest = ask.row(more);
    const parts = [
      ask.row(row),
      rest &&
          el("details", {class: "more", open: Boolean(open)}, el("summary", {}, texts.ask.more),
             rest),
      announced(bench), pumpPart(pump), ask.reader()
    ].filter(Boolean);
    node.querySelector(".body").replaceChildren(...parts);
    node.hidden = parts.length === 0;
  }
  /// Beside a need: what may be the answer to it; null where there is none.
  function ofNeed(need, bench) {
    const answers = (kAnswers[need.kind] || (() => []))(need, bench);
    return ask.row(
        [...answers, ...(need.acknowledged_by ? [] : [{request: "acknowledge", notice: need.id}])]);
  }
  return {show, ofNeed};
})();
