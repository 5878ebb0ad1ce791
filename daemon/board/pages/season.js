// The season of all benches. The same file serves the page, which asks the service, and a file of
// its own, which carries its nights in #season-data.
"use strict";
plainwater.season = (() => {
  const {el, write} = plainwater.dom, texts = plainwater.texts, nights = plainwater.nights,
             format = plainwater.format;
  const span = plainwater.span.make(5 * nights.kDay);
  let carried = null, strips = [], shown = null, turn = 0,
      wish = {year: "", compare: false, bench: ""};

  async function read(from, to) {
    if (carried) return from ? nights.cut(carried, from, to) : carried;
    return nights.unpacked(
        await plainwater.live.read(from ? `/api/season?from=${from}&to=${to}` : "/api/season"));
  }
  /// The nights of a year earlier at the dates of this one.
  async function readBefore(season) {
    const from = nights.inYear(season.from, -1) || nights.shifted(season.from, -366),
          to = nights.inYear(season.to, -1) || nights.shifted(season.to, -366);
    const earlier = await read(from, to), by = new Map();
    for (const bench of earlier.benches) {
      const list = [];
      for (const n of bench.list) {
        const date = nights.inYear(n.date, 1);
        if (date && n.mean !== null) list.push({...n, date, x: Date.parse(date) + nights.kDay});
      }
      by.set(bench.name, list);
    }
    return by;
  }

  function fillYears(years) {
    const select = document.querySelector("#year"), all = ["", ...years.map(String)];
    if (wish.year && !all.includes(wish.year)) all.push(wish.year);
    if (select.options.length === all.length) return;
    select.replaceChildren(...all.map(
        (y) => el("option", {value: y}, y || (carried ? texts.wholeRun : texts.lastYear))));
    select.value = wish.year;
  }
  function keepWish() {
    if (carried) return;
    const query = new URLSearchParams();
    if (wish.year) query.set("year", wish.year);
    if (wish.compare) query.set("compare", "1");
    if (wish.bench) query.set("bench", wish.bench);
    history.replaceState(null, "", query.toString() ? `?${query}` : location.pathname);
  }

  function layOut(season, before) {
    strips.forEach((s) => s.remove());
    const wanted =
        season.benches.filter((b) => b.name.toLowerCase().includes(wish.bench.toLowerCase()));
    strips = wanted.map(
        (b) => plainwater.seasonStrips.make(b, before.get(b.name) || [], span, !carried));
    document.querySelector(".strips").replaceChildren(
        ...strips.map((s) => s.figure),
        ...(wanted.length ? [] : [el("p", {class: "loading"}, texts.noMatch)]));
  }
  async function show(zoomKept) {
    const mine = ++turn, status = document.querySelector(".signs");
    try {
      const season = await (wish.year ? read(`${wish.year}-01-01`, `${wish.year}-12-31`) : read());
      const before = wish.compare ? await readBefore(season) : new Map();
      if (mine !== turn) return;
      shown = {season, before};
      fillYears(season.years);
      const xs = season.benches.flatMap(
          (b) => (b.list.length ? [b.list[0].x, b.list[b.list.length - 1].x] : []));
      const from = xs.length ? Math.min(...xs) : Date.parse(season.from),
            to = xs.length ? Math.max(...xs) : Date.parse(season.to) + nights.kDay;
      if (!zoomKept) span.setAll(from - nights.kDay / 2, to + nights.kDay);
      status.replaceChildren(
          plainwater.seasonStrips.legend(wish.compare),
          wish.compare ? el("p", {class: "quiet", role: "status"},
                            texts.comparing(season.benches.some(
                                (b) => (before.get(b.name) ||
                                        []).some((n) => b.list.some((m) => m.x === n.x)))))
                       : "");
      layOut(season, before);
      document.querySelectorAll("main > .loading").forEach((node) => node.remove());
      plainwater.dom.ready();
    } catch (error) {
      if (mine !== turn) return;
      status.replaceChildren(plainwater.page.failure(error));
      plainwater.dom.ready();
      plainwater.live.later(() => mine === turn && show(zoomKept));
    }
  }

  function listen() {
    const year = document.querySelector("#year"), compare = document.querySelector("#compare"),
          filter = document.querySelector("#filter");
    fillYears([]);
    compare.checked = wish.compare;
    filter.value = wish.bench;
    year.addEventListener("change", () => ((wish.year = year.value), keepWish(), show()));
    compare.addEventListener(
        "change", () => ((wish.compare = compare.checked), keepWish(), show(true)));
    filter.addEventListener(
        "input",
        () =>
            ((wish.bench = filter.value.trim()), keepWish(),
             shown && layOut(shown.season, shown.before)));
    document.querySelector("#reset").addEventListener("click", () => span.reset());
  }
  function start() {
    const data = document.querySelector("#season-data");
    if (data) {
      const season = JSON.parse(data.textContent);
      format.use(season.site);
      carried = nights.unpacked(season);
      format.at(`${carried.to}T12:00:00Z`);
      write(document.querySelector(".site"), season.site.name);
      document.querySelectorAll(".pages, .skip").forEach((node) => node.remove());
    } else {
      const query = new URLSearchParams(location.search);
      wish = {
        year: query.get("year") || "",
        compare: query.get("compare") === "1",
        bench: query.get("bench") || ""
      };
    }
    listen();
    if (carried)
      return void (
          write(
              document.querySelector(".head p"),
              texts.carriedLead(
                  format.site().name, format.evening(carried.from, true),
                  format.evening(carried.to, true))),
          show());
    // Nights close once a day: only then is there something new to draw.
    let night = null;
    const look = (now) => {
      const key =
          now.benches
              .map((b) => `${b.night.date}${b.hold ? `${b.hold.id}${b.hold.provisional}` : ""}`)
              .join();
      if (key !== night) show(night !== null && !span.whole());
      night = key;
    };
    plainwater.live.on("now", look);
    plainwater.live.on("bench", () => plainwater.live.now() && look(plainwater.live.now()));
    plainwater.page.start();
  }
  return {start};
})();
plainwater.dom.start(plainwater.season.start);
