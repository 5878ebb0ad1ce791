// One bench whole: now, its sensors and air, its year, orders, doses, salts, ledger; and its card
// for the printer.
"use strict";
plainwater.bench = (() => {
  const {el, table} = plainwater.dom, texts = plainwater.texts, format = plainwater.format,
             live = plainwater.live, page = plainwater.page, nights = plainwater.nights;
  const name = decodeURIComponent(location.pathname.replace(/^\/bench\//, "").replace(/\/$/, ""));
  const path = `/api/benches/${encodeURIComponent(name)}`;
  const span = plainwater.span.make(5 * nights.kDay);
  let entry = null, strip = null, keys = {}, again = false;

  const section = (id) => document.querySelector(`#${id} .body`);
  const facts = (pairs) =>
      el("dl", {class: "facts"},
         pairs.filter(([, value]) => value)
             .map(([label, value]) => el("div", {}, el("dt", {}, label), el("dd", {}, value))));

  function showNow(bench, pump) {
    const t = texts.now, a = bench.air, n = bench.night, key = JSON.stringify([bench, pump]);
    if (keys.now === key) return;
    keys.now = key;
    const known = (value, text) => (format.known(value) ? text : "");
    const pairs = [
      [
        t.air,
        known(a.temperature_c, `${format.temperature(a.temperature_c)}, ${format.hour(a.time)}`)
      ],
      [t.humidity, known(a.humidity_percent, format.percent(a.humidity_percent))],
      [t.vpd, known(a.vpd_kpa, `${format.number(a.vpd_kpa, 2)} kPa`)],
      [t.dew, known(a.dew_point_c, format.temperature(a.dew_point_c))],
      [
        t.absolute,
        known(a.absolute_humidity_gm3, `${format.number(a.absolute_humidity_gm3, 1)} g/m³`)
      ],
      [t.minimum, known(n.minimum_c, format.temperature(n.minimum_c))],
      [t.day, known(n.day_mean_c, format.temperature(n.day_mean_c))],
      [t.dayMaximum, known(n.day_maximum_c, format.temperature(n.day_maximum_c))],
      [t.dif, known(n.dif_c, format.difference(n.dif_c))],
      [
        n.deficit_c < 0 ? t.surplus : t.deficit,
        known(n.deficit_c, format.difference(Math.abs(n.deficit_c)))
      ],
      [t.coverage, known(n.coverage, format.share(n.coverage))],
      [t.counted, String(n.counted)],
      [t.group, format.temperature(bench.group_night_c)],
      [t.floor, format.temperature(bench.chill_floor_c)],
      [t.plainDays, texts.days(Math.round(bench.plain_water_days_in_year))],
      [t.watered, bench.watered && format.moment(bench.watered)],
      [t.pump, pump ? `${pump.name}: ${texts.pumpState(pump)}` : bench.pump || texts.byHand],
    ];
    section("numbers").replaceChildren(facts(pairs));
    const doubted = (s) =>
        (s.trusted ? `${texts.sensorStates.good}; ${texts.counts}`
                   : `${texts.sensorStates[s.doubt] || s.doubt}; ${texts.countsNot}`);
    section("sensors").replaceChildren(
        bench.sensors.length
            ? table(
                  document.querySelector("#h-sensors").textContent,
                  [texts.sensorsTable.sensor, texts.sensorsTable.state, texts.sensorsTable.last],
                  bench.sensors.map((s) => [s.name, doubted(s), format.moment(s.last)]), [], false)
            : el("p", {}, texts.none));
    const s = bench.salts;
    section("salts").replaceChildren(...(!s ? [el("p", {}, texts.saltsNone)] : [
      el("p", {},
         format.known(s.ec) ? texts.salts(
                                  format.number(s.ec, 2),
                                  format.known(s.doubt_ec) ? format.number(s.doubt_ec, 2) : "",
                                  format.number(s.flush_above_ec, 2))
                            : texts.saltsUnknown(format.number(s.flush_above_ec, 2))),
      ...(s.flush_litres > 0
              ? [el("p", {class: "urge"}, texts.saltsFlush(format.number(s.flush_litres, 0)))]
              : []),
    ]));
  }

  function needs(now) {
    // What somebody has acknowledged stands below.
    const mine = now.needs
                     .filter(
                         (n) => n.bench === name ||
                             (n.pump &&
                              now.pumps.some((p) => p.name === n.pump && p.benches.includes(name))))
                     .sort((a, b) => Boolean(a.acknowledged_by) - Boolean(b.acknowledged_by));
    const asks = plainwater.benchAsks;
    asks.readAnswers(mine, () => needs(live.now()));
    const key = JSON.stringify([mine, plainwater.askSend.who(), asks.answers()]);
    if (keys.needs === key) return;
    keys.needs = key;
    document.querySelector(".needs").replaceChildren(...mine.map(
        (n) =>
            el("li", {class: n.urgency, "data-need": n.kind},
               el("p", {class: "where"}, el("span", {class: "urgency"}, texts.urgency[n.urgency])),
               el("p", {}, format.sentence(n.text)), ...page.needKnown(n), asks.ofNeed(n))));
  }
  function card(bench) {
    const t = texts.card;
    document.querySelector(".card").replaceChildren(
        el("div", {class: "card-words"},
           plainwater.names.fit(
               el("p", {class: "card-name"}, plainwater.names.whole(bench.name)), bench.name),
           el("p", {}, t.group(texts.groups[bench.group], format.temperature(bench.group_night_c))),
           el("p", {}, t.floor(format.temperature(bench.chill_floor_c)))),
        el("div", {class: "card-code"},
           el("img", {src: `${path}/code.svg`, alt: t.code(bench.name), width: 150, height: 150})),
        el("p", {class: "card-scan"}, t.scan),
        el("div", {class: "card-lines"}, el("p", {}, t.here), el("p", {}), el("p", {})),
        el("p", {class: "card-caution"}, t.caution),
        el("p", {class: "card-printed"},
           `${format.site().name} · ${t.printed(format.dayYear(Date.now()))}`));
  }

  async function once(what, key, call) {
    if (keys[what] === key || (keys[what] && section(what).contains(document.activeElement)))
      return;  // nobody's place is taken away
    keys[what] = key;
    try {
      await call();
    } catch (error) {
      keys[what] = null;
      section(what).replaceChildren(page.failure(error));
      if (!again) live.later(() => ((again = false), show(live.now())));
      again = true;
    }
  }
  async function year() {
    const season =
              nights.unpacked(await live.read(`/api/season?bench=${encodeURIComponent(name)}`)),
          bench = season.benches[0];
    if (strip) strip.remove();
    strip = bench ? plainwater.seasonStrips.make(bench, [], span, false) : null;
    if (!bench) return section("year").replaceChildren(el("p", {}, texts.noNights));
    if (bench.list.length && span.whole())
      span.setAll(
          bench.list[0].x - nights.kDay / 2, bench.list[bench.list.length - 1].x + nights.kDay);
    section("year").replaceChildren(plainwater.seasonStrips.legend(false), strip.figure);
  }
  async function ledger() {
    const got = await live.read(`/api/ledger?bench=${encodeURIComponent(name)}&limit=15`);
    section("ledger").replaceChildren(
        el("ol", {class: "rows"}, got.rows.map((row) => plainwater.rows.make(row, false))),
        el("p", {class: "after"},
           el("a", {href: `/ledger?bench=${encodeURIComponent(name)}`}, texts.ledger.more)));
  }

  function show(now) {
    const bench = now.benches.find((b) => b.name === name),
          missing = document.querySelector(".missing");
    missing.hidden = Boolean(bench);
    document.querySelector(".whole").hidden = !bench;
    document.title = `${name} – plainwater`;
    if (!bench) {
      missing.textContent = texts.noSuchBench(name);
      return void plainwater.dom.ready();
    }
    if (!entry) document.querySelector(".now").append((entry = plainwater.entry.make(bench, true)));
    const said = plainwater.entry.update(entry, bench);
    if (said) page.announce(texts.changed(name, said));
    needs(now);
    const pump = now.pumps.find((p) => p.name === bench.pump);
    plainwater.benchAsks.show(document.querySelector("#asks"), bench, pump);
    showNow(bench, pump);
    once(
        "orders",
        JSON.stringify(
            [bench.order && bench.order.sequence, bench.order && bench.order.strength_percent]),
        () => plainwater.benchOrders.orders(section("orders"), path, bench));
    once(
        "doses", bench.watered || "none",
        () => plainwater.benchOrders.doses(section("doses"), path));
    once(
        "air", String(bench.air.time && bench.air.time.slice(0, 15)),
        () => plainwater.air.show(section("air"), `${path}/air?hours=48`, name));
    once(
        "year",
        `${bench.night.date}${bench.hold ? `${bench.hold.id}${bench.hold.provisional}` : ""}${
            bench.strength_percent}`,
        year);
    once("ledger", "first", ledger);
    once("card", format.dayYear(Date.now()), async () => card(bench));
    document.querySelector(".loading")?.remove();
    plainwater.dom.ready();
  }
  function start() {
    live.on("now", show);
    live.on("house", show);
    plainwater.ask.onWho(() => live.now() && show(live.now()));
    live.on("bench", (bench) => bench.name === name && show(live.now()));
    live.on("ledger", () => once("ledger", String(Date.now()), ledger));
    document.querySelector("#print").addEventListener("click", () => window.print());
    page.start();
  }
  return {start};
})();
plainwater.dom.start(plainwater.bench.start);
