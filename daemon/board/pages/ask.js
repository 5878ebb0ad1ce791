// Requests by a page: buttons that open the dialog, and the wishes that are not finished.
//   plainwater.ask.onWho(show);   // when /api/me and /api/kinds have been read
//   plainwater.ask.button({request: "hold", bench: "long"})   // null where the reader may not
"use strict";
plainwater.ask = (() => {
  const {el} = plainwater.dom, texts = plainwater.texts, live = plainwater.live,
        send = plainwater.askSend, dialog = plainwater.askDialog;

  /// What it is about, in a word or two, for the name of its button.
  function about(ask) {
    if (ask.notice) {
      const need = live.now() && live.now().needs.find((n) => n.id === ask.notice);
      return need
          ? [texts.kinds[need.kind] || need.kind, need.bench || need.pump].filter(Boolean).join(
                ", ")
          : "";
    }
    return ask.bench || ask.pump || "";
  }
  /// A button for `ask`, {request, bench | pump | notice, …what its fields begin with}; null where
  /// the reader may not ask for it, and before me() has come. `what`: what it is about, in words.
  function button(ask, {label, what = about(ask)} = {}) {
    const kind = send.kind(ask.request);
    if (!send.may(kind)) return null;
    const named = label || kind.label;
    return el(
        "button", {
          type: "button",
          class: "ask-for",
          "data-request": ask.request,
          "data-ask": dialog.keyOf(ask),
          "aria-haspopup": "dialog",
          "aria-label": texts.ask.named(named, what),
          onclick: (event) =>
              dialog.begin(ask, kind, {label: named, what, opener: event.currentTarget})
        },
        named);
  }
  /// Several of them in a row; those that may not are left out, and null when none is left.
  function row(asks) {
    const buttons = asks.map((ask) => button(ask)).filter(Boolean);
    return buttons.length ? el("div", {class: "ask-row"}, buttons) : null;
  }

  function showKept(kept) {
    const t = texts.ask.kept;
    document.querySelector(".kept")?.remove();
    if (!kept.length) return;
    document.querySelector("main").prepend(el(
        "section", {class: "kept", "aria-label": t.head}, el("h2", {}, t.head),
        kept.map(
            (wish) =>
                el("p", {}, el("span", {}, t[wish.state](texts.ask.named(wish.label, wish.what))),
                   el("button", {
                     type: "button",
                     class: "ask-for",
                     onclick: (event) => dialog.resume(wish, event.currentTarget)
                   },
                      t.look)))));
  }
  function start() {
    send.onKept(showKept);
    send.me();
  }
  return {
    button,
    row,
    start,
    me: () => send.me(),
    onWho: send.onWho,
    reader: () => plainwater.askTold.reader(send.who())
  };
})();
plainwater.dom.start(plainwater.ask.start);
