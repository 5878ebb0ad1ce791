// What was done by this page while it is open, and how it is taken back.
"use strict";
plainwater.askUndo = (() => {
  const {el} = plainwater.dom, texts = plainwater.texts;
  const known = new Map();
  const keyOf = ({request, bench, pump}) => JSON.stringify([request, bench || "", pump || ""]);

  const forget = (ask) => known.delete(keyOf(ask));
  /// `undo`: {request, label}, or null where there is none.
  function remember(ask, undo, what) {
    forget(ask);
    if (undo) known.set(keyOf(ask), {ask, undo, what});
  }
  /// A button that takes back the last such request of this page; null where there is none.
  function button(done) {
    const last = known.get(keyOf(done));
    if (!last) return null;
    return el(
        "button", {
          type: "button",
          class: "ask-for",
          "data-undo": done.request,
          "aria-haspopup": "dialog",
          "aria-label": texts.ask.named(last.undo.label, last.what),
          onclick: (event) => plainwater.askDialog.takeBack(last, event.currentTarget)
        },
        last.undo.label);
  }
  return {remember, forget, button};
})();
