// The order in force in full, those before it, and what the pump reported.
"use strict";
plainwater.benchOrders = (() => {
  const {el, table} = plainwater.dom, texts = plainwater.texts, format = plainwater.format;
  const may = (o) => plainwater.entry.spoken(o);

  function inForce(o) {
    const t = texts.order, d = o.dose;
    const pairs = [
      [t.feeding, may(o)],
      [t.stock, t.stockWords[o.stock] || o.stock],
      [t.because, format.sentence(o.because)],
      [t.issued, format.moment(o.issued)],
      [t.valid, format.moment(o.valid_until)],
      [t.pump, o.pump || texts.byHand],
      [t.mode, o.pump && (t.modes[o.pump_mode] || o.pump_mode)],
      [
        t.pumpStrength,
        format.known(o.pump_strength_percent) && format.percent(o.pump_strength_percent)
      ],
      [t.limited, o.limited_by],
      [t.untrusted, o.untrusted && t.untrustedWords],
      [t.recipe, d && texts.mix(d.recipe, d.water)],
      [
        t.dose,
        d &&
            texts.ratio(
                format.number(d.ml_per_litre, 2),
                d.injector_ratio ? format.plain(Math.round(d.injector_ratio * 10) / 10) : "")
      ],
      [t.ppm, d && `${format.number(d.ppm_n, 0)} ppm`],
      [t.ec, d && `${format.number(d.ec, 2)} mS/cm`],
      [t.problem, d && d.problem && (t.problems[d.problem] || d.problem)],
      [
        t.hold,
        o.hold &&
            texts.holdDates(
                format.dayYear(o.hold.placed), format.day(o.hold.earliest_end, o.issued),
                format.day(o.hold.latest_end, o.issued))
      ],
      [t.number, `${o.epoch}.${o.sequence}`],
      [t.history, o.history_since && format.dayYear(o.history_since)],
    ];
    return el(
        "dl", {class: "facts"},
        pairs.filter(([, value]) => value)
            .map(([label, value]) => el("div", {}, el("dt", {}, label), el("dd", {}, value))));
  }
  async function orders(node, path, bench) {
    const got = await plainwater.live.read(`${path}/orders?limit=100`), t = texts.ordersTable,
          alike = [];
    // An order is repeated every hour; those that say the same are one line, from the first of them
    // to the last.
    for (const given of got.orders) {
      const last = alike[alike.length - 1], o = given.order;
      if (last && last.o.because === o.because && may(last.o) === may(o) &&
          last.o.stock === o.stock)
        (last.first = given.recorded), (last.at = given.acknowledged);
      else
        alike.push({o, first: given.recorded, at: given.acknowledged});
    }
    const rows = alike.map(
        ({o, first, at}) =>
            [texts.fromTo(format.moment(first), format.moment(o.issued)), may(o),
             texts.order.stockShort[o.stock], at ? format.moment(at) : t.notYet,
             format.sentence(o.because)]);
    node.replaceChildren(
        el("h3", {}, texts.order.head),
        bench.order ? inForce(bench.order) : el("p", {}, texts.orderNone),
        ...(rows.length
                ? [table(t.caption, [t.issued, t.feeding, t.stock, t.broker, t.because], rows)]
                : []));
  }
  async function doses(node, path) {
    const got = await plainwater.live.read(`${path}/doses?limit=20`), t = texts.dosesTable;
    if (!got.doses.length) return node.replaceChildren(el("p", {}, texts.dosesNone));
    const amount = (value, decimals, unit) =>
        (format.known(value) ? `${format.number(value, decimals)} ${unit}` : texts.none);
    node.replaceChildren(table(
        t.caption, [t.time, t.litres, t.feed, t.strength, t.ec, t.runoff],
        got.doses.map(
            (d) =>
                [format.moment(d.time), amount(d.litres, 1, "L"), amount(d.feed_ml, 0, "mL"),
                 format.percent(d.strength_percent), format.number(d.ec, 2),
                 format.number(d.runoff_ec, 2)]),
        [1, 2, 3, 4, 5]));
  }
  return {orders, doses};
})();
