// English: what the pages say. A translator copies this file as pages.js into the folder that
// `board.language` names, and puts other words into it; what is left out stays English. The
// skeleton of the pages, and what the service says (causes, needs, the ledger) are in
// sentences.yaml there. A function gets figures and names in their final form, and gives the words
// with these in them.
"use strict";
plainwater.speak((() => {
  const count = (n, one, many) => `${n} ${n === 1 ? one : many}`;
  const small =
      ["No", "One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine", "Ten"];
  const number = (n) => small[n] || String(n);
  const place = {indoors: "indoors", outdoors: "outdoors", unknown: "whereabouts unknown"};

  return {
    months: ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"],
    weekdays: ["Sunday", "Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday"],
    // "14 Oct 2026"; without a year where that is clear.
    date: (day, month, year) => `${day} ${month}${year ? ` ${year}` : ""}`,
    month: (month, year) => `${month} ${year}`,
    moment: (date, time) => `${date}, ${time}`,
    weekday: (weekday, moment) => `${weekday} ${moment}`,
    decimal: ".",
    thousands: ",",
    percent: (figure) => `${figure} %`,
    none: "–",
    title: (page, site, needs) => `${needs ? `(${needs}) ` : ""}${page} – ${site}`,

    // Feeding
    feeding: (feeding, percent) => feeding === "plain-water" ? "Plain water"
        : feeding === "full" && percent >= 100               ? "Full feed"
        : feeding === "reduced" && percent <= 50             ? "Weak feed"
                                                             : "Feed",
    feedings: {"plain-water": "Plain water", reduced: "Weak feed", full: "Full feed"},
    until: {
      decides: (day) => `decision about ${day}`,
      ends: (day) => `until about ${day}`,
      looked: (day) => `until ${day}`,
      since: (day) => `since ${day}`,
      open: "until that changes",
    },
    groups: {cool: "cool-growing", intermediate: "intermediate-growing", warm: "warm-growing"},
    place: (p) => (p.position === "unknown"
                       ? (p.last_known === "unknown" ? "whereabouts unknown"
                                                     : `was ${place[p.last_known]}, now unknown`)
                                                     : place[p.position]) +
        (p.pattern === "shuttling" ? ", in and out repeatedly" : ""),
    acknowledged: (who) => `acknowledged by ${who}`,
    placeSince: (day) => `since ${day}`,
    positions: place,
    plants: (rate, night, used) =>
        ["The plants run at ", rate, " of what they are used to: last night ", night, ", used to ",
         used, "."],
    plantsNoUsed: (night) => ["Last night ", night, "; what they are used to is not known yet."],
    plantsBlind: (used) => ["Last night is not known; they are used to ", used, "."],
    plantsNothing: "No night has closed yet.",
    shortStrip: (n, bench) => `The last ${count(n, "night", "nights")} on ${
        bench}: nights, what the plants are used to, holds and feed`,
    learning: "still learning its nights",
    blind: "blind: too few believable readings",

    // Needs
    needs: (n, urgent) =>
        (n === 0 ? "Nothing needs you."
                 : `${number(n)} ${n === 1 ? "thing needs" : "things need"} you${
                       urgent ? (urgent === n
                                     ? (n === 1 ? ", now"
                                                : (n === 2 ? ", both now" : ", all of them now"))
                                     : `, ${number(urgent).toLowerCase()} of them now`)
                                     : ""       }.`),
    urgency: {urgent: "now", soon: "within a day", info: "when there is time"},
    pump: (name) => `pump ${name}`,
    sum: (parts) => (parts.length ? parts.join(", ") + "." : ""),
    sumPart: (n, words) => `${count(n, "bench", "benches")} on ${words.toLowerCase()}`,
    found: (n, all) => (n === all ? count(all, "bench", "benches") : `${n} of ${all} benches`),
    noBench: "No bench has that in its name.",
    noBenches: "No benches are set up yet. Add them to the settings; " +
        "plainwater check --keys explains every key.",

    // The service
    live: "live",
    service: (s, readings, when) =>
        [`Decided up to ${when}`, `${readings} readings since the start`,
         `plainwater ${s.version}, ${s.instance}`],
    trouble: {
      away: (when) => `Not connected. This is as of ${when}.`,
      awayFirst: "Not connected yet. Is the service running?",
      still: (when) => `The service has decided nothing since ${when}. This may be out of date.`,
      store: (what) => `The store does not work: ${what}`,
      unsettled: "The clock is not believed yet.",
      backlog: "Readings that waited at the broker are still arriving. No orders until then.",
      readings: "Times are those of the readings.",
      full: "Too many people are watching; this page refreshes every few seconds instead.",
    },
    failed: (detail) =>
        `This could not be loaded: ${detail || "the service did not answer. Trying again."}`,
    changed: (bench, words) => `${bench}: ${words}.`,

    // Season
    carriedLead: (site, from, to) =>
        `${site}, ${from} to ${to}. Each strip is a bench through its nights.`,
    wholeRun: "All nights",
    lastYear: "The last twelve months",
    comparing: (have) =>
        (have ? "The year before: outlined diamonds and the dotted line."
              : "There are no nights of the year before at these dates."),
    strip: (bench) => `Nights on ${bench}`,
    stripNumber: (group, c) => `${group}; dotted: its group’s night of ` + c.replace(" ", "\u00a0"),
    legend: {
      night: "night mean",
      uncounted: "night that did not count",
      used: "what the plants are used to",
      trial: "hold, not yet confirmed",
      held: "hold, confirmed",
      gone: "hold, withdrawn",
      chill: "chill",
      dip: "dip below the chill floor",
      fall: "nights fell, no hold",
      feed: "strength of feed",
      water: "plain water",
      out: "night outdoors",
      unsure: "place unknown",
      before: "the year before",
    },
    legendHead: "Key",
    nightMissing: (day) => `${day} · no night recorded`,
    readoutNone: "Point at a night to see its figures.",
    night:
        (n) => [n.day, `night ${n.mean || "not known"}`, n.minimum && `lowest ${n.minimum}`,
                n.used && `used to ${n.used}`, n.rate && `running at ${n.rate}`, n.feeding, n.place,
                !n.counted && "did not count", n.before && `the year before ${n.before}`]
                   .filter(Boolean)
                   .join(" · "),
    holdNow: (name, state) => `${name}, ${state}`,
    holdStates: {
      trial: "not yet confirmed",
      held: "confirmed",
      gone: "withdrawn",
      over: "over",
      done: "confirmed, over"
    },
    extended: (n) => (n === 1 ? "extended" : `extended ${n} times`),
    numbers: "In numbers",
    holdsTable: {
      caption: "Holds",
      placed: "placed",
      cause: "cause",
      state: "how it went",
      ended: "ended",
      days: "days",
      none: "No hold in this period."
    },
    monthsTable: {
      caption: "Months",
      month: "month",
      nights: "nights",
      mean: "mean",
      minimum: "lowest",
      used: "used to (at the end)",
      water: "nights of plain water",
      strength: "mean strength of feed",
      outdoors: "nights outdoors",
    },
    // Of days as "20 Sep"; `end` is empty while the hold lasts.
    holdInWords: (name, placed, end, latest, state) =>
        (end ? `${name}: ${placed} to ${end}, ${state}`
             : `${name}: since ${placed}, ${state}${latest ? `, to ${latest} at the latest` : ""}`),
    toLatest: (day) => `to ${day} at the latest`,
    noNights: "No night has closed in this period.",
    noMatch: "No bench has that in its name.",

    // Bench
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

    // Ledger
    ledger: {
      all: "all benches",
      allKinds: "everything except changes of place",
      everything: "everything",
      more: "Older",
      evidence: "Figures",
      none: "Nothing was decided in this period.",
      house: "the house",
      shown: (n) => count(n, "decision", "decisions"),
      end: "That is all.",
      newer: (n) => `${count(n, "new decision", "new decisions")}: show`,
      holds: "holds",
      feeding: "feeding",
      places: "places",
      sensors: "sensors and nights",
      notices: "notices",
      because: "cause",
      hold: "hold",
      since: "in fact since",
      after: "after it",
      filters: "Which decisions",
    },

    holdDates: (placed, earliest, latest) =>
        `placed ${placed}, ends between ${earliest} and ${latest}`,

    // Wall
    wall: {
      asOf: (when) => `as of ${when}`,
      stale: (when) => `STALE: nothing new since ${when}`,
      never: "STALE: nothing heard yet",
      page: (n, of) => `${n} / ${of}`,
      calm: "Nothing needs you.",
      need: (kind, where) => (where ? `${kind} (${where})` : kind),
      needs: (urgency, list, more) =>
          `! Needs you ${urgency}: ${list.join(", ")}${more ? `, and ${more} more` : ""}.`,
      store: "STORE FAILS",
      backlog: "CATCHING UP: no orders yet",
      clock: "CLOCK NOT BELIEVED",
    },

    // What the service names by a word of its own: needs, decisions, causes, and the figures behind
    // them.
    kinds: {
      "store-unhealthy": "store",
      "store-slow": "slow store",
      "clock-implausible": "clock",
      "waiting-for-broker": "broker",
      chill: "chill",
      "pump-untrusted": "pump not trusted",
      "pump-silent": "pump silent",
      "cannot-dose": "dose",
      blind: "blind bench",
      "please-decide": "question",
      "no-watering": "no watering",
      "sensor-silent": "sensor silent",
      "sensor-doubted": "sensor",
      "salts-up": "salts",
    },
    decisions: {
      "hold-placed": "hold placed",
      "hold-confirmed": "hold confirmed",
      "hold-withdrawn": "hold withdrawn",
      "hold-extended": "hold extended",
      "hold-ended": "hold ended",
      "feeding-changed": "feeding changed",
      "position-changed": "place changed",
      "sensor-doubted": "sensor doubted",
      "sensor-trusted": "sensor trusted",
      "night-blind": "night blind",
      notice: "notice",
    },
    causes: {
      "": "as before",
      grower: "your own word",
      chill: "chill",
      blind: "too few readings",
      learning: "learning its nights",
      exempt: "exempt from holds",
      silent: "silent",
      stuck: "stuck",
      spiking: "spiking",
      drifting: "drifting",
      announced: "announced",
      "sharp-drop": "sharp drop",
      "after-hold": "after a hold",
      "cool-nights": "cool nights",
      "dull-season": "short days",
      "bright-season": "long days",
      "growth-started": "growth started",
      "not-heard": "not heard yet",
      "yearly-budget": "yearly limit",
      cap: "longest plain water",
      "out-of-range": "out of range",
      wet: "wet sensor",
      "good-values": "good values again",
      clock: "clock not believed",
      ramp: "step by step",
      "moved-indoors": "carried indoors",
      "moved-outdoors": "carried outdoors",
      shuttling: "in and out repeatedly",
      "after-move": "after a move",
      "fed-in-plain-water": "fed in plain water",
      "fed-against-advice": "fed against advice",
      "over-strength": "too strong",
      "under-strength": "too weak",
      "daily-cap": "daily limit",
      "pump-untrusted": "pump not trusted",
      "pump-trusted": "pump trusted again",
      "pump-silent": "pump silent",
      "pump-reports": "pump’s reports",
      "no-watering": "no watering",
      "shared-pump": "shared pump",
      "salts-up": "salts up",
      "recipe-changed": "recipe changed",
      "benches-changed": "benches changed",
      "renamed": "renamed",
      "bench-gone": "left the settings",
      "bench-retired": "retired",
      "pump-clock": "pump’s clock",
      "fed-by-hand": "fed by hand",
      dip: "dip below the floor",
    },

    // Words in evidence, beside places, kinds of feeding, causes and states of sensors.
    values: {
      strength: "strength",
      stock: "stock",
      ec: "EC",
      "began anew": "began anew",
      "at 25 °C as reported": "at 25 °C as reported",
      "2 %/K to 25 °C": "2 %/K to 25 °C",
      "not possible: no water temperature": "not possible: no water temperature",
      "under a roof": "under a roof",
    },

    // Evidence: [label, unit]. "c": a temperature, "d": a difference of temperatures, "%": of a
    // share 0..1, "day", "time", or a unit as it is.
    evidence: {
      nights_before_c: ["nights before", "c"],
      week_before_c: ["the week before", "c"],
      nights_now_c: ["nights now", "c"],
      days_before_c: ["days before", "c"],
      days_now_c: ["days now", "c"],
      fall_c: ["fall", "d"],
      usual_spread_c: ["usual spread of nights", "d"],
      acclimated_c: ["used to", "c"],
      deficit_c: ["cooler than they are used to", "d"],
      deepest_deficit_c: ["at most cooler than they are used to", "d"],
      lasting_c: ["of it remained", "d"],
      needed_c: ["needed for a hold", "d"],
      length_days: ["length", "days"],
      nights: ["nights looked at", ""],
      mean_rh_percent: ["mean humidity", "%RH"],
      coverage: ["night covered by readings", "share"],
      moved: ["carried", "time"],
      judged_after_nights: ["judged after nights", ""],
      feeding_days_lost: ["days of plain water", ""],
      plain_water_days: ["plain water", "days"],
      events: ["what placed or prolonged it", "times"],
      from: ["before", "word"],
      from_percent: ["strength before", "%"],
      to_percent: ["strength after", "%"],
      probability: ["how likely", "share"],
      last_known: ["last known place", "word"],
      bench_c: ["bench air", "c"],
      outdoors_c: ["outdoors", "c"],
      indoors_c: ["indoors", "c"],
      usual_offset_outdoors_c: ["usually over outdoors by", "d"],
      usual_offset_indoors_c: ["usually over indoors by", "d"],
      last_move: ["last carried", "time"],
      settled_days: ["settled for", "days"],
      air_c: ["air", "c"],
      lowest_c: ["lowest air", "c"],
      degree_hours: ["below the floor", "°C·h"],
      answered_from: ["answered from", "°C·h"],
      chill_floor_c: ["chill floor", "c"],
      until: ["until", "time"],
      difference_c: ["difference", "d"],
      usual_difference_c: ["usual difference", "d"],
      mean_c: ["mean", "c"],
      mean_before_c: ["mean before", "c"],
      water_c: ["water", "c"],
      ec: ["EC", "mS/cm"],
      ec_25: ["EC at 25 °C", "mS/cm"],
      expected_ec: ["EC expected", "mS/cm"],
      above_ec: ["above", "mS/cm"],
      water_ec: ["EC of the water", "mS/cm"],
      target_ec: ["EC aimed at", "mS/cm"],
      refusal_ec: ["EC limit", "mS/cm"],
      salts_ec: ["salts in the pots", "mS/cm"],
      doubt_ec: ["give or take", "mS/cm"],
      ec_tolerance: ["tolerance of EC", "mS/cm"],
      feed_ml: ["feed stock", "mL"],
      expected_feed_ml: ["feed stock expected", "mL"],
      daily_feed_ml: ["feed stock allowed a day", "mL"],
      litres: ["water", "L"],
      daily_litres: ["water allowed a day", "L"],
      flush_litres: ["flush", "L"],
      strength_percent: ["strength reported", "%"],
      allowed_percent: ["strength allowed", "%"],
      silent_hours: ["silent for", "h"],
      watering_days: ["waterings expected within", "days"],
      disobedient_reports: ["reports that disobeyed", ""],
      reports_since_told: ["reports since the last notice", ""],
      nights_in_a_row: ["such nights in a row", ""],
      samples: ["readings", ""],
      late_readings: ["readings that came late", ""],
      refused: ["refused", ""],
      questions: ["questions", ""],
      opens_hold: ["opens hold", ""],
      epoch: ["order epoch", ""],
      sequence: ["order number", ""],
      also: ["also", "word"],
      armed_with: ["armed with", ""],
      bench: ["bench", ""],
      by: ["by", "word"],
      contact: ["contact", ""],
      counter: ["counter", "word"],
      ec_compensation: ["EC compensation", "word"],
      mix: ["mix", ""],
      night: ["night", "day"],
      days: ["days on which it was carried", ""],
      times: ["times carried", ""],
      place: ["place", "word"],
      back_s: ["set back by", "s"],
      note: ["note", ""],
      now: ["now", ""],
      pump: ["pump", ""],
      request: ["request", ""],
      sensor: ["sensor", ""],
      source: ["source", ""],
      was: ["was", "word"],
      who: ["who", ""],
      first: ["first", "time"],
      last_heard: ["last heard", "time"],
      last_reading: ["last reading", "time"],
      last_watering: ["last watering", "time"],
      reported: ["reported", "time"],
      runoff_measured: ["runoff measured", "time"],
      since: ["since", "time"],
      watered: ["watered", "time"],
    },
    units: {days: (n) => (n === 1 ? "day" : "days"), times: (n) => (n === 1 ? "time" : "times")},
  };
})());
