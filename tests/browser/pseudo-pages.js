// The pages' words in a language that nobody speaks, as a translator's pages.js: made of English,
// which is there already. What a text gives gets an accent on each letter and stands in ⟦ ⟧; names
// and figures that are put into it stay as they are.
"use strict";
plainwater.speak((() => {
  const kPlain = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz";
  const kAccented = [..."ÅƁÇĐÈƑĜĤÌĴĶĻṀÑÖÞǪŔŠŢÛṼŴẊÝŽåƀçđèƒĝĥìĵķļṁñöþǫŕšţûṽŵẋýž"];
  const accent = (text) => [...text].map((c) => kAccented[kPlain.indexOf(c)] || c).join("");
  const wrapped = (text) => (/[A-Za-z]/.test(text) ? `⟦${accent(text)}⟧` : text);

  /// The text outside of what was put into it.
  function around(text, put) {
    const found = put.filter((p) => p && text.includes(p)).sort((a, b) => b.length - a.length)[0];
    if (!found) return accent(text);
    return text.split(found).map((part) => around(part, put)).join(found);
  }
  function said(text, figures) {
    const put = figures.filter((f) => typeof f === "string");
    return /[A-Za-z]/.test(text) ? `⟦${around(text, put)}⟧` : text;
  }
  function made(value) {
    if (typeof value === "string") return wrapped(value);
    if (Array.isArray(value)) return value.map((part) => wrapped(part));
    if (typeof value !== "function")
      return Object.fromEntries(Object.entries(value).map(([key, part]) => [key, made(part)]));
    return (...figures) => {
      const text = value(...figures);
      if (typeof text === "string") return said(text, figures);
      return text.map((part) => (typeof part === "string" ? said(part, figures) : part));
    };
  }
  const table = made(plainwater.texts);
  // The unit beside a figure's name is looked up, or shown as it is.
  for (const [key, [label, unit]] of Object.entries(plainwater.texts.evidence))
    table.evidence[key] = [wrapped(label), unit];
  return table;
})());
