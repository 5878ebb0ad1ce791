// The figures behind a decision, in words and with their units. A name that the table does not know
// is read by its end.
"use strict";
plainwater.evidence = (() => {
  const {el} = plainwater.dom, texts = plainwater.texts, format = plainwater.format;
  const kEnds = [
    [/_c$/, "c"], [/_percent$/, "%"], [/_kpa$/, "kPa"], [/_ec$/, "mS/cm"], [/_ml$/, "mL"],
    [/_litres$/, "L"], [/_hours$/, "h"], [/_days$/, "days"], [/_until$/, "time"], [/_time$/, "time"]
  ];
  const isTime = (value) =>
      typeof value === "string" && /^\d{4}-\d{2}-\d{2}T\d{2}:\d{2}/.test(value);

  function labelled(key) {
    if (Object.hasOwn(texts.evidence, key)) return texts.evidence[key];
    const end = kEnds.find(([pattern]) => pattern.test(key));
    return [
      (end && end[1] !== "time" ? key.replace(end[0], "") : key).replace(/_/g, " "),
      end ? end[1] : ""
    ];
  }
  const plain = (value) =>
      (typeof value === "number"       ? format.plain(value)
           : typeof value === "object" ? JSON.stringify(value)
                                       : String(value));
  /// What the service names by a word of its own.
  const words =
      (value) => [texts.values, texts.positions, texts.feedings, texts.sensorStates, texts.causes]
                     .filter((table) => Object.hasOwn(table, value))
                     .map((table) => table[value])[0] ||
      value;
  function figure(value, unit) {
    if (value === null || value === undefined) return texts.none;
    if (isTime(value)) return format.moment(value);
    if (unit === "day" && typeof value === "string") return format.evening(value, true);
    if (typeof value === "string") return unit === "word" ? words(value) : format.sentence(value);
    if (typeof value !== "number") return plain(value);
    if (unit === "c") return format.temperature(value);
    if (unit === "d") return format.difference(value);
    if (unit === "share") return format.share(value);
    const name = texts.units[unit]                             ? texts.units[unit](value)
        : unit === "word" || unit === "day" || unit === "time" ? ""
                                                               : unit;
    return name ? `${plain(value)} ${name}` : plain(value);
  }
  /// "fall 4.2 °C"
  const pairs = (evidence) => Object.entries(evidence || {}).map(([key, value]) => {
    const [label, unit] = labelled(key);
    return [label, figure(value, unit)];
  });
  function list(evidence, more = []) {
    return el("dl", {class: "figures"}, [
      ...pairs(evidence), ...more
    ].map(([label, value]) => el("div", {}, el("dt", {}, label), el("dd", {}, value))));
  }
  return {pairs, list};
})();
