// Today: the day's work, then each bench.
"use strict";
plainwater.today = (() => {
  const {el, write, arrange, whenSeen} = plainwater.dom, texts = plainwater.texts,
                             format = plainwater.format, live = plainwater.live,
                             page = plainwater.page, work = plainwater.worklist;
  const kMany = 12, kOrder = ["plain-water", "reduced", "full"];
  const entries = new Map(), sections = new Map();
  const here = document.querySelector("nav [aria-current]").textContent;
  let list, season = new Map(), lastNight = null, asking = false, wanted = "", needsKey = "";

  function showNeeds(now) {
    const todo = work.showNeeds(now), urgent = todo.filter((n) => n.urgency === "urgent").length,
          head = texts.needs(todo.length, urgent);
    write(document.querySelector("h1"), head);
    write(document.querySelector("[data-when]"), format.weekday(now.time));
    document.title = texts.title(here, now.site.name, todo.length);
    const key = JSON.stringify(todo);
    if (needsKey && key !== needsKey)
      page.announce(todo.length ? `${head} ${format.sentence(todo[0].text)}` : head);
    needsKey = key;
  }

  function showSum(now) {
    const parts = kOrder.map((f) => [f, now.benches.filter((b) => b.feeding === f).length])
                      .filter(([, n]) => n);
    write(
        document.querySelector("[data-sum]"),
        now.benches.length ? texts.sum(parts.map(([f, n]) => texts.sumPart(n, texts.feedings[f])))
                           : texts.noBenches);
  }

  function drawStrip(node, name) {
    const bench = season.get(name), drawing = bench && plainwater.strip.draw(bench);
    node.querySelector(".lately").replaceChildren(
        ...(drawing ? [el("a", {
          href: `/bench/${encodeURIComponent(name)}#year`,
          tabindex: "-1",
          "aria-hidden": "true"
        },
                          drawing)]
                    : []));
  }
  function entryOf(bench) {
    let node = entries.get(bench.name);
    if (!node) {
      entries.set(bench.name, (node = plainwater.entry.make(bench, false)));
      plainwater.benchToday.add(node);
      whenSeen(node, () => {
        node.dataset.seen = "yes";
        drawStrip(node, bench.name);
      });
    }
    const said = plainwater.entry.update(node, bench);
    plainwater.benchToday.update(node, bench);
    node.dataset.kind = bench.feeding;
    if (said) page.announce(texts.changed(bench.name, said));
    return node;
  }

  function sectionOf(feeding) {
    if (!sections.has(feeding))
      sections.set(
          feeding,
          el("section", {class: "kind", "aria-label": texts.feedings[feeding]},
             el("h2", {class: "kind-head"}), el("div", {class: "kind-list"})));
    return sections.get(feeding);
  }
  /// Few benches stand in their order; many under what they may have, so that those on plain water
  /// are seen first.
  function layOut(now) {
    const many = now.benches.length > kMany,
          shown = now.benches.filter((b) => b.name.toLowerCase().includes(wanted));
    document.querySelector(".find").hidden = !many;
    list.classList.toggle("many", many);
    document.querySelector(".benches-head").classList.toggle("hidden", many);
    const nodes = new Map(now.benches.map((b) => [b.name, entryOf(b)]));
    for (const name of entries.keys())
      if (!nodes.has(name)) entries.delete(name);
    if (!many) return arrange(list, shown.map((b) => nodes.get(b.name)));
    const kinds = kOrder.filter((f) => shown.some((b) => b.feeding === f));
    for (const f of kinds) {
      const of = shown.filter((b) => b.feeding === f), section = sectionOf(f);
      write(
          section.querySelector("h2"),
          `${texts.feedings[f]}: ${texts.found(of.length, of.length)}`);
      arrange(section.querySelector(".kind-list"), of.map((b) => nodes.get(b.name)));
    }
    arrange(list, kinds.map(sectionOf));
    write(
        document.querySelector("[data-found]"),
        shown.length ? texts.found(shown.length, now.benches.length) : texts.noBench);
  }

  async function readSeason(now) {
    const dates = now.benches.map((b) => b.night.date).filter(Boolean).sort(),
          last = dates[dates.length - 1];
    const key =
        now.benches
            .map(
                (b) => `${b.night.date}${b.hold ? b.hold.id + String(b.hold.provisional) : ""}${
                    b.strength_percent}`)
            .join();
    if (!last || key === lastNight || asking) return;
    asking = true;
    try {
      const from = plainwater.nights.shifted(last, 1 - plainwater.strip.nights);
      const read =
          plainwater.nights.unpacked(await live.read(`/api/season?from=${from}&to=${last}`));
      season = new Map(read.benches.map((b) => [b.name, b]));
      lastNight = key;
      for (const [name, node] of entries)
        if (node.dataset.seen) drawStrip(node, name);
    } catch {
      // The strips are left out; what is said stands without them. The next change tries again.
    }
    asking = false;
  }

  function show(now) {
    showNeeds(now);
    showSum(now);
    showHouseAsks(now);
    layOut(now);
    document.querySelector(".loading")?.remove();
    plainwater.dom.ready();
    readSeason(now);
  }
  /// What is asked of the house as a whole.
  function showHouseAsks(now) {
    const node = document.querySelector(".house-asks"), who = plainwater.askSend.who(),
          asks = [{request: "note"}, {request: now.absence ? "back" : "absence"}],
          key = JSON.stringify([who && who.role, asks]);
    if (node.dataset.key === key) return;
    node.dataset.key = key;
    const focused = node.contains(document.activeElement), row = plainwater.ask.row(asks);
    node.replaceChildren(...(row ? [row] : []));
    if (focused) node.querySelector("button")?.focus();
  }
  /// Somebody has signed in, or is known now: other buttons.
  function showWho() {
    const reader = plainwater.ask.reader();
    document.querySelector(".who-asks").replaceChildren(...(reader ? [reader] : []));
    for (const node of entries.values()) plainwater.benchToday.forget(node);
    if (!live.now()) return;
    layOut(live.now());
    showHouseAsks(live.now());
  }
  function start() {
    list = document.querySelector(".entries");
    const find = document.querySelector("#find");
    find.addEventListener("input", () => {
      wanted = find.value.trim().toLowerCase();
      if (live.now()) layOut(live.now());
    });
    work.start();
    if (plainwater.ask) plainwater.ask.onWho(showWho);
    live.on("now", (now) => (work.ask(), show(now)));
    live.on("house", (now) => {
      showNeeds(now);
      showSum(now);
      showHouseAsks(now);
      for (const bench of now.benches.filter((b) => b.air.late)) entryOf(bench);
    });
    live.on("bench", (bench) => {
      const known = entries.get(bench.name), before = known && known.dataset.kind;
      entryOf(bench);
      if (before !== bench.feeding) layOut(live.now()), showSum(live.now());
      readSeason(live.now());
    });
    page.start({needs: true});
  }
  return {start};
})();
plainwater.dom.start(plainwater.today.start);
