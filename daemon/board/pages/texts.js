// What the pages say: English first (english….js), and over it what the house's own language has
// (pages.js, which is empty where English is spoken).
"use strict";
var plainwater = window.plainwater || {};
window.plainwater = plainwater;
plainwater.texts = {};

/// `english` takes a table of English in, `speak` one of a language. A word takes the place of the
/// one before where it is of its kind: text for text, a function for a function, a list for one as
/// long. A function that fails leaves its place to the one before, so that no wrong word keeps
/// anybody from water.
[plainwater.english, plainwater.speak] = (() => {
  const kind = (value) => (Array.isArray(value) ? `list of ${value.length}` : typeof value);
  const warn = (key, what) => console.warn(`pages.js: ${key} ${what}; English is said there.`);

  function either(theirs, ours, key) {
    let warned = false;
    return (...figures) => {
      try {
        const said = theirs(...figures), expected = ours(...figures);
        if (typeof said === typeof expected && Array.isArray(said) === Array.isArray(expected))
          return said;
      } catch {
        // As if it had said nothing.
      }
      if (!warned) warn(key, "fails");
      warned = true;
      return ours(...figures);
    };
  }
  function take(into, from, path, adds) {
    for (const [name, value] of Object.entries(from)) {
      const key = path + name, ours = Object.hasOwn(into, name) ? into[name] : undefined;
      if (ours === undefined && adds)
        into[name] = value;
      else if (ours === undefined)
        warn(key, "is no word of the pages");
      else if (kind(value) !== kind(ours))
        warn(key, `is of another kind (${kind(value)}, not ${kind(ours)})`);
      else if (kind(value) === "object")
        take(ours, value, `${key}.`, adds);
      else
        into[name] = typeof value === "function" ? either(value, ours, key) : value;
    }
  }
  const into = (adds) => (table) => take(plainwater.texts, table, "", adds);
  return [into(true), into(false)];
})();
