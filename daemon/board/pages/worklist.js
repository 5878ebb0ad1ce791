// The day's work: what needs a person now, with the requests beside it; what people did today; what
// comes next; and below, what somebody has acknowledged. Needs are those of the live state; all
// else is asked for when it may have changed.
"use strict";
plainwater.worklist = (() => {
  const {el, write, arrange, steady} = plainwater.dom, texts = plainwater.texts,
                             format = plainwater.format, live = plainwater.live,
                             page = plainwater.page, names = plainwater.names;
  // So many are shown before somebody wants all.
  const kShown = {do: 8, acknowledged: 4, done: 4, next: 5};
  const rows = new Map(), opened = new Set();
  let today = null, asksBy = new Map(), turn = 0, needsKey = "", dayKey = "";

  const list = (what) => document.querySelector(`[data-work="${what}"]`);
  const path = (bench) => `/bench/${encodeURIComponent(bench)}`;
  const link = (bench) => names.fit(el("a", {href: path(bench)}, names.whole(bench)), bench);
  const isBench = (name) => live.now().benches.some((b) => b.name === name);
  const where = (bench, pump) => bench ? (isBench(bench) ? link(bench) : el("span", {}, bench))
      : pump                           ? texts.pump(pump)
                                       : null;
  function button(ask) {
    if (!ask.instead && !ask.hold) return plainwater.ask.button(ask);
    // Of one among several announced holds: its day tells which.
    const what = [ask.bench, ask.from && format.day(ask.from)].filter(Boolean).join(", ");
    return plainwater.ask.button(ask, ask.instead ? {what, label: texts.ask.change} : {what});
  }
  /// The buttons; null where there are none for this reader.
  function hands(asks) {
    const buttons = plainwater.ask && asks ? asks.map(button).filter(Boolean) : [];
    return buttons.length ? el("p", {class: "ask-row"}, buttons) : null;
  }

  /// The row of `key`, made anew only when `state` differs, so that a finger or a reader keeps its
  /// place.
  function row(key, state, make) {
    const said = JSON.stringify(state), before = rows.get(key);
    if (before && before.said === said) return before.node;
    const focused = before && before.node.contains(document.activeElement) &&
        document.activeElement.dataset.ask;
    const node = make();
    if (before) before.node.replaceWith(node);
    rows.set(key, {said, node});
    if (focused) node.querySelector(`[data-ask="${CSS.escape(focused)}"]`)?.focus();
    return node;
  }

  // So many needs of a kind stand as one item, with their names; each within it has its buttons.
  const kTogether = 3;
  /// [needs that stand as one item], in the order of the first of each.
  function together(needs) {
    const kinds = new Map();
    const kindOf = (need) => `${need.urgency} ${need.kind}`;
    for (const need of needs) kinds.set(kindOf(need), [...(kinds.get(kindOf(need)) || []), need]);
    return needs.flatMap((need) => {
      const same = kinds.get(kindOf(need));
      if (same.length < kTogether) return [[need]];
      return same[0] === need ? [same] : [];
    });
  }
  function itemRow(needs) {
    if (needs.length === 1) return needRow(needs[0]);
    const {kind, urgency} = needs[0], key = `needs ${urgency} ${kind}`, before = rows.get(key),
                 open = Boolean(before && before.node.querySelector("details").open);
    const named = [...new Set(needs.map((n) => n.bench || n.pump).filter(Boolean))].join(", ");
    return row(
        key, [needs, needs.map((n) => asksBy.get(n.id)), turn],
        () =>
            el("li", {class: `${urgency} together`},
               el("p", {class: "where"}, el("span", {class: "urgency"}, texts.urgency[urgency]),
                  texts.kinds[kind] || kind),
               el("details", {class: "what", open},
                  el("summary", {class: "text"}, texts.work.together(needs.length, named)),
                  el("ul", {}, needs.map(needRow)))));
  }
  function needRow(need) {
    const asks = asksBy.get(need.id);
    return row(
        `need ${need.id}`, [need, asks, turn],
        () => el(
            "li", {class: need.urgency, "data-need": need.kind},
            el("p", {class: "where"}, el("span", {class: "urgency"}, texts.urgency[need.urgency]),
               where(need.bench, need.pump) || texts.kinds[need.kind]),
            el("div", {class: "what"}, el("p", {class: "text"}, format.sentence(need.text)),
               ...page.needKnown(need), hands(asks))));
  }
  /// The newest of its kind may be taken back, where it was done by this page.
  function doneRow(done) {
    const same = (d) => ["request", "bench", "pump"].every((name) => d[name] === done[name]);
    const me = plainwater.askSend && plainwater.askSend.who(),
          mine = me && (!me.name || me.name === done.who) && today.done.find(same) === done,
          undo = mine ? plainwater.askUndo.button(done) : null;
    const key = `done ${done.time} ${done.request} ${done.bench} ${done.pump} ${done.text}`;
    return row(
        key, [done, format.hour(done.time), Boolean(undo)],
        () =>
            el("li", {"data-done": done.request},
               el("p", {class: "where"}, el("time", {datetime: done.time}, format.hour(done.time)),
                  " ", el("span", {class: "who-did"}, done.who)),
               el("div", {class: "what"},
                  el("p", {}, of(done.bench, done.pump), format.sentence(done.text)),
                  undo && el("p", {class: "ask-row"}, undo))));
  }
  const of = (bench, pump) => {
    const about = where(bench, pump);
    return about ? [el("span", {class: "of"}, about), " "] : [];
  };
  function nextRow(next) {
    return row(
        `next ${next.kind} ${next.bench} ${next.time} ${next.text}`, [next, turn],
        () =>
            el("li", {"data-next": next.kind},
               el("p", {class: "where"},
                  next.time ? el("time", {datetime: next.time}, format.day(next.time)) : ""),
               el("div", {class: "what"}, el("p", {}, of(next.bench), format.sentence(next.text)),
                  hands(next.asks))));
  }

  /// Shows the first of them, and all when somebody wants that; `left`: what the service left out.
  function fill(what, all, make, left, none) {
    const node = list(what), section = node.closest("section"),
          shown = opened.has(what) ? all : all.slice(0, kShown[what]);
    const focused = node.contains(document.activeElement);
    section.hidden = !all.length && !none;
    arrange(node, shown.map(make));
    if (focused && !node.contains(document.activeElement)) section.querySelector("h2").focus();
    const quiet = section.querySelector(".quiet"), button = section.querySelector(".all");
    write(quiet, !all.length ? none || "" : left && shown === all ? texts.work.leftOut(left) : "");
    quiet.hidden = !quiet.textContent;
    button.hidden = all.length <= kShown[what];
    button.setAttribute("aria-expanded", String(opened.has(what)));
    write(button, opened.has(what) ? texts.work.fewer : texts.work.all(all.length + (left || 0)));
  }
  const open = (now) => now.needs.filter((n) => !n.acknowledged_by);

  /// `now`: the live state. Gives what still needs somebody.
  function showNeeds(now) {
    const todo = open(now), seen = now.needs.filter((n) => n.acknowledged_by);
    steady(() => {
      fill("do", together(todo), itemRow);
      fill("acknowledged", seen, needRow);
    });
    const key = JSON.stringify(now.needs.map((n) => [n.id, n.acknowledged_by, n.text])),
          day = now.time ? format.dayYear(now.time) : "";
    if (key !== needsKey || day !== dayKey) ask();
    needsKey = key;
    dayKey = day;
    return todo;
  }
  function showDay() {
    if (!today || !live.now()) return;
    steady(() => {
      fill("done", today.done, doneRow, today.more.done, texts.work.nobody);
      fill("next", today.next, nextRow, today.more.next, texts.work.nothing);
    });
    showNeeds(live.now());
    const kept = new Set([...document.querySelectorAll("[data-work] > li")]);
    for (const [key, {node}] of rows)
      if (!kept.has(node) && !key.startsWith("need ")) rows.delete(key);
  }
  function tell(before) {
    const old = new Set(before.done.map((d) => d.time + d.text));
    const news = today.done.filter((d) => !old.has(d.time + d.text));
    if (news.length)
      page.announce(texts.work.did(news[0].who, [
        news[0].bench || news[0].pump, format.sentence(news[0].text)
      ].filter(Boolean).join(": ")));
  }

  const kSoon = 200;
  let waiting = 0, reading = false, again = false;
  /// Soon, and once for all that changes together.
  function ask() {
    clearTimeout(waiting);
    waiting = setTimeout(read, kSoon);
  }
  async function read() {
    if (reading) return void (again = true);
    reading = true;
    again = false;
    try {
      const before = today;
      today = await live.read("/api/today");
      asksBy = new Map([...today.do, ...today.acknowledged].map((t) => [t.need.id, t.asks]));
      document.querySelector(".work-failed").replaceChildren();
      showDay();
      if (before) tell(before);
    } catch (error) {
      document.querySelector(".work-failed").replaceChildren(page.failure(error));
      live.later(ask);
    }
    reading = false;
    if (again) ask();
  }

  function start() {
    for (const button of document.querySelectorAll(".work .all"))
      button.addEventListener("click", () => {
        const what = button.closest("section").querySelector("[data-work]").dataset.work;
        if (!opened.delete(what)) opened.add(what);
        showDay();
      });
    for (const what of ["asked", "ledger"]) live.on(what, ask);
    // Another reader may ask for other things.
    if (plainwater.ask)
      plainwater.ask.onWho(() => (++turn, live.now() && showNeeds(live.now()), showDay()));
  }
  return {start, showNeeds, ask, link, hands};
})();
