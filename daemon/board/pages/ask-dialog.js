// The dialog of a request: its fields, what would change, one button that sends it, the answer and
// the way back. Nothing is sent but by a tap on that button.
"use strict";
plainwater.askDialog = (() => {
  const {el, write} = plainwater.dom, texts = plainwater.texts, format = plainwater.format,
             live = plainwater.live, page = plainwater.page, send = plainwater.askSend,
             told = plainwater.askTold, undos = plainwater.askUndo;
  const kSettle = 350;      // a field is left alone so long before its effect is asked for
  const kDeliberate = 600;  // a second tap on what opened the dialog is not an answer to it
  let shown = null;

  const button = (text, call, attributes = {}) =>
      el("button", {type: "button", onclick: call, ...attributes}, text);
  /// A refusal follows the name of what was refused, so it may lack its own full stop.
  const whole = (text) => format.sentence(!text || /[.!?]$/.test(text) ? text : `${text}.`);

  class Dialog {
    constructor(ask, kind, {label, what, given = {}, opener = null}) {
      Object.assign(this, {ask, kind, label, what, given, opener});
      this.id = send.newId();
      this.state = "form";
      this.turn = 0;
      this.head = el("h2", {id: "ask-head", tabindex: "-1"}, texts.ask.named(label, what));
      this.body = el("div", {class: "ask-body"});
      this.low = el("div", {class: "ask-low"});
      this.form =
          el("form", {novalidate: true, onsubmit: (event) => this.submitted(event)},
             el("header", {}, this.head,
                button("×", () => this.close(), {class: "shut", "aria-label": texts.ask.close})),
             this.body, this.low);
      this.node = el("dialog", {class: "ask", "aria-labelledby": "ask-head"}, this.form);
      this.node.addEventListener("close", () => this.closed());
    }
    open() {
      if (shown) shown.close();
      shown = this;
      document.body.append(this.node);
      this.show();
      return this;
    }
    show() {
      if (!this.node.isConnected) document.body.append(this.node);
      if (!this.node.open) this.node.showModal();
      page.speakIn(this.node);
      shown = this;
      this.openedAt = performance.now();
    }
    close() {
      if (this.node.open) this.node.close();
    }
    closed() {
      clearTimeout(this.settling);
      this.node.remove();
      if (shown !== this) return;
      shown = null;
      page.speakIn(document.body);
      const back = this.opener && this.opener.isConnected
          ? this.opener
          : document.querySelector(`[data-ask="${CSS.escape(keyOf(this.ask))}"]`);
      const head = document.querySelector("h1");
      if (head) head.tabIndex = -1;
      (back || head)?.focus();
    }
    say(text, urgent = false) {
      write(this.told, text);
      this.told.classList.toggle("urge", urgent);
      page.announce(text);
    }
    put(state, body, low) {
      this.state = state;
      this.node.dataset.state = state;
      this.node.toggleAttribute("data-undone", Boolean(this.undone) && state !== "sending");
      this.body.replaceChildren(...body.filter(Boolean));
      this.low.replaceChildren(...low.filter(Boolean));
      this.head.focus();
    }

    // What is asked for

    showForm(remark = "") {
      const now = live.now(), who = send.who(),
            bench = now && now.benches.find((b) => b.name === this.ask.bench);
      this.fields = plainwater.askForm.make(
          this.kind, this.ask, {bench, given: this.given, change: () => this.changed()});
      this.told = el("p", {class: "would"});
      this.confirm =
          el("button", {type: "submit", class: "sure", disabled: true},
             // The heading says which of the things that need a person.
             this.ask.notice ? this.label : texts.ask.named(this.label, this.what));
      this.retry = button(texts.ask.tryAgain, () => this.look(), {hidden: true});
      const flow = this.kind.request === "arm" ? told.flow(this.ask.pump) : null;
      this.sure =
          flow && el("input", {type: "checkbox", id: "ask-sure", onchange: () => this.allow()});
      this.put(
          "form",
          [
            !this.ask.instead && el("p", {class: "quiet"}, this.kind.words), flow && flow.node,
            this.fields.node,
            who && who.name && el("p", {class: "quiet"}, texts.ask.asWho(who.name))
          ],
          [
            this.told,
            flow &&
                el("p", {class: "flag"}, this.sure,
                   el("label",
                      {for: "ask-sure"
                      },
                      texts.ask.flow.sure(flow.benches))),
            el("div", {class: "ask-buttons"}, this.confirm, this.retry,
               button(texts.ask.notNow, () => this.close()))
          ]);
      if (this.fields.read().missing.length) this.fields.focus();
      if (remark) {
        this.good = false;
        this.say(remark, true);
      } else if (this.ask.instead && !this.touched) {
        this.good = false;
        this.say(texts.ask.changeFirst);
      } else
        this.look();
    }
    changed() {
      this.good = false;
      this.touched = true;
      this.allow();
      ++this.turn;
      write(this.told, texts.ask.trying);
      this.told.classList.remove("urge");
      clearTimeout(this.settling);
      this.settling = setTimeout(() => this.look(), kSettle);
    }
    /// The button works once what would change has been read, and not at the first blink.
    allow() {
      const wait = kDeliberate - (performance.now() - this.openedAt);
      if (wait > 0) setTimeout(() => this.allow(), wait);
      this.confirm.disabled = !this.good || wait > 0 || Boolean(this.sure && !this.sure.checked);
    }
    /// Asks what would change; nothing changes by that.
    async look() {
      const {body, missing, wrong} = this.fields.read(), turn = ++this.turn;
      this.good = false;
      this.retry.hidden = true;
      this.allow();
      if (wrong) return this.say(texts.ask.mend);
      if (missing.length) return this.say(texts.ask.fill(missing));
      write(this.told, texts.ask.trying);
      this.told.classList.remove("urge");
      const got = await send.post("/api/requests/try", {...body, id: this.id});
      if (turn !== this.turn || this.state !== "form") return;
      this.wanted = body;
      if (got.outcome === "answered") {
        this.good = got.said.done;
        if (this.good)
          this.say(format.sentence(got.said.would || got.said.text));
        else
          this.say(texts.ask.refused(whole(got.said.text)), true);
      } else if (got.outcome === "who") {
        await this.strange();
      } else if (got.outcome === "refused") {
        this.say(texts.ask.refused(whole(got.detail)), true);
      } else {
        this.say(got.outcome === "unknown" ? texts.ask.lost.look : told.lost(got), true);
        this.retry.hidden = false;
      }
      this.allow();
    }
    async strange() {
      const who = await send.me(true);
      if (!this.node.open) return;
      this.told.replaceChildren(told.stranger(who));
      page.announce(this.told.textContent);
    }

    // What becomes of it

    submitted(event) {
      event.preventDefault();
      if (this.state !== "form" || this.confirm.disabled) return;
      this.meant = this.told.textContent;
      this.send({...this.wanted, id: this.id});
    }
    async send(body) {
      const {label, what, meant} = this, wish = {body, label, what, meant, state: "unknown"};
      // Before it is sent: the page may be gone when the answer comes.
      send.keep(wish);
      this.told = el("p", {class: "would"});
      this.put("sending", [], [this.told]);
      this.say(texts.ask.sending);
      const got = await send.post("/api/requests", body);
      if (got.outcome === "answered" || got.outcome === "refused") send.forget(body.id);
      this.show();
      if (got.outcome === "answered" && got.said.done) return this.showDone(got.said);
      if (got.outcome === "answered" || got.outcome === "refused")
        return this.showRefusal(body, got.said ? got.said.text : got.detail);
      send.keep({...wish, state: got.outcome === "unknown" ? "unknown" : "unsent"});
      this.showLost(body, got);
    }
    showDone(said) {
      const undo = said.undo, text = format.sentence(said.text);
      undos.remember(this.undone || this.ask, this.undone ? null : undo, this.what);
      this.told = el("p", {class: "answer"});
      this.put(
          "done", [this.told, told.lines(said.decisions || [])],
          [el("div", {class: "ask-buttons"},
              button(texts.ask.close, () => this.close(), {class: "sure"}),
              undo && button(undo.label, () => this.undo(undo)))]);
      this.say(text);
      if (!live.connected()) live.refresh();
    }
    showRefusal(body, text) {
      this.id = send.newId();  // what is asked next is another request
      const {id, ...given} = body;
      this.given = given;
      const remark = texts.ask.refused(whole(text));
      this.kind = this.kind || send.kind(body.request);
      if (this.undone || !this.kind) {
        this.told = el("p", {class: "would"});
        this.put("refused", [this.told], [el("div", {class: "ask-buttons"},
                                             button(texts.ask.close, () => this.close()))]);
        this.say(remark, true);
      } else
        this.showForm(remark);
    }
    /// The wish is kept as it is, and goes again only by a tap.
    showLost(body, got) {
      this.told = el("p", {class: "would"});
      this.link = el("p", {class: "quiet", "data-connection": ""});
      // After an answer nothing is to be told of the connection that was lost before.
      this.silent = ["unknown", "unsent"].includes(got.outcome);
      this.away = false;
      this.put(
          "lost", [this.told, this.link],
          [el("div", {class: "ask-buttons"},
              button(texts.ask.again, () => this.send(body), {class: "sure"}),
              button(texts.ask.forget, () => {
                send.forget(body.id);
                this.close();
              }))]);
      this.say(got.outcome === "who" ? whole(got.detail) : told.lost(got), true);
      if (got.outcome === "who") this.strange();
      this.connection();
    }
    connection() {
      // What would change may be asked again: that changes nothing.
      if (this.state === "form" && !this.retry.hidden && live.connected()) this.look();
      if (this.state !== "lost") return;
      const t = texts.ask.lost;
      if (!live.connected()) this.away = true;
      const text = !live.connected() ? t.away : this.away && this.silent ? t.back : "";
      if (write(this.link, text) && text) page.announce(text);
    }
    /// Tried and sent in one tap: it only takes back what was just done.
    async undo(undo) {
      this.undone = this.ask;
      this.told = el("p", {class: "would"});
      this.put("sending", [], [this.told]);
      this.say(texts.ask.undoing);
      const body = {...undo.request, id: send.newId()};
      const got = await send.post("/api/requests/try", body);
      this.label = undo.label;
      this.meant = got.said && (got.said.would || "");
      this.show();
      if (got.outcome === "answered" && !got.said.done)
        return this.showRefusal(body, got.said.text);
      if (got.outcome === "answered") return this.send(body);
      if (got.outcome === "refused") return this.showRefusal(body, got.detail);
      // Only the question was lost: this was not sent.
      send.keep({body, label: undo.label, what: this.what, state: "unsent"});
      this.showLost(body, got.outcome === "unknown" ? {outcome: "unsent"} : got);
    }
  }

  const keyOf = (ask) => JSON.stringify(ask);
  const begin = (ask, kind, how) => new Dialog(ask, kind, how).open().showForm();
  /// A wish that was not answered, as it was.
  function resume(wish, opener) {
    const {id, ...given} = wish.body;
    const ask = Object.fromEntries(["request", "bench", "pump", "notice"]
                                       .filter((name) => given[name] !== undefined)
                                       .map((name) => [name, given[name]]));
    const dialog =
        new Dialog(ask, null, {label: wish.label, what: wish.what, given, opener}).open();
    dialog.id = id;
    dialog.meant = wish.meant;
    dialog.showLost(wish.body, {outcome: wish.state === "unsent" ? "unsent" : "unknown"});
  }
  /// Takes back what was done before, as the answer to it offered.
  function takeBack({ask, undo, what}, opener) {
    new Dialog(ask, null, {label: undo.label, what, opener}).open().undo(undo);
  }
  live.on("connection", () => shown && shown.connection());
  // What would change may have changed by somebody else's word.
  live.on(
      "bench",
      (bench) => shown && shown.state === "form" && shown.ask.bench === bench.name &&
          shown.fields && shown.changed());
  return {begin, resume, takeBack, keyOf, open: () => Boolean(shown)};
})();
