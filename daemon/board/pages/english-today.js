// English: what Today says beside the benches: the day's work, the newest air. See english.js.
"use strict";
plainwater.english((() => {
  const count = (n, one, many) => `${n} ${n === 1 ? one : many}`;

  return {
    work: {
      nobody: "Nobody has asked for anything yet.",
      nothing: "Nothing falls due within a week.",
      all: (n) => `Show all ${n}`,
      fewer: "Show fewer",
      together: (n, names) => (names ? `${n} of them: ${names}` : `${n} of them`),
      leftOut: (n) => `and ${n} more, in the ledger`,
      did: (who, text) => `${who}: ${text}`,
    },
    airNow: (temperature, humidity) => [temperature, humidity].filter(Boolean).join(" and "),
    airHead: "Air",
    airOld: (age) => `${age} old`,
    airGone: (when) => (when ? `not known; the last reading is of ${when}` : "not known yet"),
    minutes: (n) => count(n, "minute", "minutes"),
    hours: (n) => count(n, "hour", "hours"),
    kinds: {
      "second-service": "second service",
      "order-refused": "order refused",
      "not-delivered": "not delivered",
      "bench-gone": "bench that left the settings",
    },
  };
})());
