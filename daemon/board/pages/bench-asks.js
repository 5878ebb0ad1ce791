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
  function presets(request, bench) {
    const place = bench.place.position;
    if (request !== "move" || place === "unknown") return {};
    return {to: place === "outdoors" ? "indoors" : "outdoors"};
  }
  /// [those of the row, those behind "More"]
  function ofBench(bench) {
    const asks =
        send.kinds()
            .filter((k) => k.of === "bench" || k.request === "note")
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
    const focused = node.contains(document.activeElement) && document.activeElement.dataset.ask;
    node.querySelector(".body").replaceChildren(...parts);
    if (focused) node.querySelector(`[data-ask="${CSS.escape(focused)}"]`)?.focus();
    node.hidden = parts.length === 0;
  }
  // What may be the answer to a need is the service's to say: it is the same as on Today.
  let asksBy = new Map(), known = "";
  /// Reads it where these needs are others than before, and calls `then` once it is known.
  async function readAnswers(needs, then) {
    const key = JSON.stringify(needs.map((n) => [n.id, n.acknowledged_by]));
    if (key === known || !send.who() || send.who().role === "look") return;
    known = key;
    if (!needs.length) return;
    try {
      const today = await plainwater.live.read("/api/today");
      asksBy = new Map([...today.do, ...today.acknowledged].map((d) => [d.need.id, d.asks || []]));
      then();
    } catch {
      known = "";  // with the next change
    }
  }
  /// The buttons beside a need; null where there are none.
  const ofNeed = (need) => ask.row(asksBy.get(need.id) || []);
  const answers = () => [...asksBy];

  return {show, ofNeed, answers, readAnswers};
})();
