// English: what a bench's own page says, and its card. See english.js.
"use strict";
plainwater.english((() => {
  const count = (n, one, many) => `${n} ${n === 1 ? one : many}`;

  return {
    benchLink: (name) => `Bench ${name}`,
    noSuchBench: (name) => `There is no bench ${name}.`,
    sensorStates: {
      good: "good",
      stuck: "stuck",
      silent: "silent",
      spiking: "spiking",
      drifting: "drifting",
      "out-of-range": "out of range",
      wet: "wet",
      clock: "wrong clock"
    },
    sensorsTable: {sensor: "sensor", state: "its readings", last: "newest"},
    counts: "count",
    countsNot: "do not count",
    now: {
      air: "air",
      humidity: "humidity",
      vpd: "vapour pressure deficit",
      dew: "dew point",
      absolute: "vapour",
      minimum: "lowest of the night",
      day: "day before, mean",
      dayMaximum: "day before, highest",
      dif: "day minus night",
      deficit: "cooler than they are used to",
      surplus: "warmer than they are used to",
      coverage: "night covered by readings",
      counted: "nights that counted",
      floor: "chill floor",
      group: "group’s night",
      plainDays: "plain water by holds, in a year",
      watered: "last watered",
      pump: "pump",
      place: "place",
    },
    byHand: "fed by hand",
    days: (n) => count(n, "day", "days"),
    pumpState: (p) =>
        (!p.trusted     ? "not trusted: plain water until somebody has repaired it"
             : p.silent ? "silent for too long"
             : p.armed  ? "follows its orders"
                        : "on advice only: its orders are shown, and it gives plain water"),
    pumpGives: {
      water: "plain water",
      untrusted: (name) => `Its pump ${name} is not trusted and gives plain water.`,
      advice: (name) => `Its pump ${name} is on advice only and gives plain water.`,
      less: (name, gives, by) =>
          `Its pump ${name} gives ${gives}${by ? `, held back by ${by}` : ""}.`,
    },
    airPlots: {temperature: "temperature", humidity: "humidity", vpd: "vapour pressure deficit"},
    airNone: "No readings in these two days.",
    airReadoutNone: "Point at a time to see its figures.",
    airPlot: (what, bench) => `${what} on ${bench}`,
    airTable: {caption: "Every three hours", time: "time"},
    mistrusted: "not counted",
    orderNone: "No order is in force. A pump without a valid order gives plain water.",
    order: {
      head: "In force",
      feeding: "for this bench",
      stock: "stock",
      stockWords: {locked: "locked: no feed may flow", open: "open"},
      stockShort: {locked: "locked", open: "open"},
      issued: "given",
      valid: "valid until",
      pump: "pump",
      mode: "mode",
      modes: {
        armed: "armed: the pump follows it",
        advise: "advice: shown only, the pump gives plain water"
      },
      pumpStrength: "for its pump",
      limited: "less than allowed, because of",
      dose: "stock in the feed",
      recipe: "recipe",
      ppm: "nitrogen added",
      ec: "expected EC",
      untrusted: "trust",
      untrustedWords: "the pump disobeyed: plain water for all of its benches",
      number: "number",
      hold: "hold",
      because: "because",
      problem: "why the pump cannot give it",
      problems: {
        "too-little": "too little for its steps",
        "too-much": "more than it can give",
        "over-refusal": "over the limit of a sensitive bench"
      },
      history: "history since",
    },
    mix: (recipe, water) => `${recipe} in ${water}`,
    ratio: (ml, ratio) => `${ml} mL in a litre${ratio ? `, 1:${ratio}` : ""}`,
    ordersTable: {
      caption: "Recent",
      issued: "given, and last repeated",
      feeding: "feeding",
      because: "because",
      stock: "stock",
      broker: "first at the broker",
      notYet: "not yet"
    },
    fromTo: (from, to) => (from === to ? from : `${from} to ${to}`),
    dosesTable: {
      caption: "The newest first",
      time: "when",
      litres: "water",
      feed: "stock",
      strength: "strength",
      ec: "EC",
      runoff: "drained EC"
    },
    dosesNone: "No report of a watering yet.",
    salts: (ec, doubt, limit) =>
        `About ${ec}${doubt ? ` ± ${doubt}` : ""} mS/cm in the water of the pots; ` +
        `a flush is advised above ${limit}.`,
    saltsUnknown: (limit) => `Not known yet; a flush is advised above ${limit} mS/cm.`,
    saltsFlush: (litres) => `Flush now with about ${
        litres} L of plain water, on a warm morning, until it runs from the pots.`,
    saltsNone: "Salts are estimated once `pots` and `pot_litres` are set.",
    card: {
      scan: "What this bench may have today, and why: scan.",
      group: (group, c) => `${group}, nights of ${c} or more for full feed`,
      floor: (c) => `Keep the air above ${c}.`,
      here: "On this card",
      caution:
          "The water of a dosing line is not drinking water. Concentrates burn skin and eyes: " +
          "gloves and glasses. When in doubt, give plain water.",
      printed: (day) => `printed ${day}`,
      code: (bench) => `Code that opens the page of bench ${bench}`,
    },
  };
})());
