// English: what the pages say; what they say of a bench, of asking, and what the service names by a
// word is in the other english-….js. A translator puts copies of all of them, one after the other,
// as pages.js into the folder that `board.language` names, with `speak` in place of `english` and
// other words; what is left out stays English. The skeleton of the pages, and what the service says
// (needs, requests, the ledger) are in sentences.yaml there. A function gets figures and names in
// their final form, and gives the words with these in them.
"use strict";
plainwater.english((() => {
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
    signIn: "Sign in",
    signOut: "Sign out",
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
  };
})());
