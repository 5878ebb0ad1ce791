// English: what the dialog of a request says, and the buttons around it. What a request and its
// fields are called comes from the service. See english.js.
"use strict";
plainwater.english((() => {
  const count = (n, one, many) => `${n} ${n === 1 ? one : many}`;

  return {
    ask: {
      // "Hold long"
      named: (label, what) => (what ? `${label} ${what}` : label),
      house: "the house",
      close: "Close",
      notNow: "Not now",
      more: "More",
      change: "Change",
      changeFirst: "Change a time or the note; then you read here what would change.",
      trying: "Looking up what would change …",
      sending: "Sending …",
      fill: (labels) => `Say ${labels.join(", ")}; then you read here what would change.`,
      mend: "Something above is not right yet.",
      refused: (why) => `Not possible: ${why}`,
      wrong: {
        number: "Give a number, such as 2.5.",
        above: (least) => `Give more than ${least}.`,
        least: (least) => `Give ${least} or more.`,
        most: (most) => `Give ${most} or less.`,
        time: "Give a day and a time.",
        end: "Give an end after the beginning.",
        gap: "The clocks are put forward then; give another time.",
      },
      optional: (label) => `${label}, if you like`,
      withUnit: (label, unit) => (unit ? `${label} (${unit})` : label),
      asWho: (name) => `You ask as ${name}.`,
      // Times to choose from
      times: {
        now: "now",
        tonight: "tonight",
        tomorrow: "tomorrow",
        tomorrowAt: (hour) => `tomorrow, ${hour}`,
        morning: "this morning",
        evening: "last evening",
        open: "left open",
        other: "another time",
        otherLabel: (label) => `${label}: day and time`,
        zone: (site) => `By the clock of ${site}.`,
        days: (n) => count(n, "day", "days"),
        weeks: (n) => count(n, "week", "weeks"),
        moreDays: (n) => `${count(n, "day", "days")} more`,
        moreWeeks: (n) => `${count(n, "week", "weeks")} more`,
      },
      // Before a pump is armed
      flow: {
        head: "What will flow",
        benches: "to",
        strength: "strength",
        dose: "stock in the feed",
        water: "plain water now; feed as soon as all of its benches may have it",
        limited: (bench) => `held back by ${bench}`,
        unknown: "not known yet",
        sure: (benches) => `I have looked: feed may flow to ${benches.join(", ")}.`,
      },
      done: "Done",
      notDone: "Not done",
      ledger: "In the ledger",
      noLines: "Nothing new was decided.",
      undoing: "Undoing …",
      again: "Send again",
      tryAgain: "Try again",
      forget: "Forget it",
      lost: {
        unknown: "No answer came. It is not known whether this arrived. Send it again: if it did " +
            "arrive, nothing is changed twice.",
        unsent: "There is no connection. This was not sent, and it will not be sent by itself.",
        busy: "The service could not take this now. Nothing has changed.",
        often: (when) =>
            `Too many requests came from here. Nothing has changed. Send again ${when}.`,
        look: "It cannot be asked what would change: no answer came.",
        back: "Connected again. Nothing was sent meanwhile.",
        away: "Not connected at the moment.",
      },
      inSeconds: (n) => `in ${count(n, "second", "seconds")}`,
      inMinutes: (n) => `in ${count(n, "minute", "minutes")}`,
      soon: "in a moment",
      // What was not answered, at the top of a page
      kept: {
        head: "Not finished",
        unknown: (what) => `${what}: no answer came; not known whether it arrived.`,
        unsent: (what) => `${what}: not sent.`,
        look: "Look",
      },
      who: {
        nobody: "You are not signed in. Nothing has changed.",
        known: (name, role) => `You are signed in as ${name} (${
            role}), who may not ask for this. Nothing has changed.`,
        signIn: "Sign in",
        other: "Sign in as somebody else",
        roles: {look: "look", care: "care", keeper: "keeper"},
        reading: "You are reading only.",
        toAsk: "Sign in to ask.",
        looks: (name) => `You are signed in as ${name}, who may look only.`,
      },
      bench: {
        asks: (bench) => `Ask for ${bench}`,
        announced: "Announced",
        announcedLine: (from, until, who) => `Plain water from ${from} until ${until}, by ${who}`,
        pump: (pump) => `Pump ${pump}`,
      },
    },
  };
})());
