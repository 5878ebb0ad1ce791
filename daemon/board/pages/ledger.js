// The ledger: every decision, by bench, kind and date. What is asked stands in the address, so that
// a link shows it again.
"use strict";
plainwater.ledger = (() => {
  const {el, write} = plainwater.dom, texts = plainwater.texts, live = plainwater.live,
             page = plainwater.page;
  const kLimit = 60;
  const kKinds = {
    holds: "hold-placed,hold-confirmed,hold-withdrawn,hold-extended,hold-ended",
    feeding: "feeding-changed",
    places: "position-changed",
    sensors: "sensor-doubted,sensor-trusted,night-blind",
    notices: "notice",
    usual: "hold-placed,hold-confirmed,hold-withdrawn,hold-extended,hold-ended," +
        "feeding-changed,sensor-doubted,sensor-trusted,night-blind,notice",
  };
  let before = null, turn = 0, newest = 0, list;

  const value = (id) => document.querySelector(`#${id}`).value;
  /// What is asked, as the service wants it.
  function query() {
    const q = new URLSearchParams(), decision = value("kind");
    if (value("bench")) q.set("bench", value("bench"));
    if (decision) q.set("decision", decision);
    if (value("from")) q.set("from", value("from"));
    if (value("to")) q.set("to", value("to"));
    return q;
  }
  function fillKinds(asked) {
    const select = document.querySelector("#kind"), t = texts.ledger;
    const options = [
      ["", t.everything], [kKinds.usual, t.allKinds],
      ...["holds", "feeding", "places", "sensors", "notices"].map((k) => [kKinds[k], t[k]])
    ];
    if (asked !== null && !options.some(([v]) => v === asked))
      options.push([asked, asked.split(",").map((d) => texts.decisions[d] || d).join(", ")]);
    select.replaceChildren(...options.map(([v, words]) => el("option", {value: v}, words)));
    select.value = asked || "";
  }
  function fillBenches(names, asked) {
    const select = document.querySelector("#bench"),
          all = asked && !names.includes(asked) ? [...names, asked] : names;
    select.replaceChildren(
        el("option", {value: ""}, texts.ledger.all),
        ...all.map((n) => el("option", {value: n}, n)));
    select.value = asked;
  }

  function keep() {
    const q = query();
    history.replaceState(null, "", q.toString() ? `?${q}` : location.pathname);
    document.querySelector("#csv").href = `/api/ledger.csv${q.toString() ? `?${q}` : ""}`;
  }
  async function read(older) {
    const mine = ++turn, q = query(), more = document.querySelector("#more");
    if (older && before) q.set("before", before);
    q.set("limit", kLimit);
    try {
      const got = await live.read(`/api/ledger?${q}`);
      if (mine !== turn) return;
      const rows = got.rows.map((row) => plainwater.rows.make(row, true));
      if (older)
        list.append(...rows);
      else
        list.replaceChildren(...rows);
      if (older && rows.length) rows[0].querySelector("summary").focus({preventScroll: true});
      if (!older) newest = 0;
      before = got.before;
      more.hidden = before === null;
      document.querySelector("#newer").hidden = newest === 0;
      write(
          document.querySelector("[data-shown]"),
          list.children.length ? `${texts.ledger.shown(list.children.length)}${
                                     before === null ? `. ${texts.ledger.end}` : ""}`
                                                     : texts.ledger.none);
    } catch (error) {
      if (mine === turn) {
        list.replaceChildren(el("li", {}, page.failure(error)));
        live.later(() => mine === turn && read(false));
      }
    }
    document.querySelector(".loading:not([role])")?.remove();
    plainwater.dom.ready();
  }
  function ask() {
    keep();
    read(false);
  }

  function start() {
    const asked = new URLSearchParams(location.search), kind = asked.get("decision");
    list = document.querySelector(".rows");
    fillKinds(kind === "all" ? null : kind);
    fillBenches([], asked.get("bench") || "");
    for (const id of ["from", "to"]) document.querySelector(`#${id}`).value = asked.get(id) || "";
    document.querySelector("form.asks")
        .addEventListener("submit", (event) => (event.preventDefault(), ask()));
    for (const id of ["bench", "kind", "from", "to"])
      document.querySelector(`#${id}`).addEventListener("change", ask);
    document.querySelector("#more").addEventListener("click", () => read(true));
    document.querySelector("#newer").addEventListener(
        "click",
        () => (read(false), document.querySelector("h1").scrollIntoView({block: "start"})));
    let begun = false;
    live.on("now", (now) => {
      fillBenches(now.benches.map((b) => b.name), value("bench"));
      if (!begun) ask();
      begun = true;
    });
    // Whoever stands at the top sees new rows come; who has read on is only told of them.
    live.on("ledger", () => {
      if (window.scrollY < 200 && !document.querySelector(".rows details[open]") &&
          list.children.length <= kLimit)
        return void read(false);
      ++newest;
      const newer = document.querySelector("#newer");
      newer.hidden = false;
      write(newer, texts.ledger.newer(newest));
    });
    page.start();
  }
  return {start};
})();
plainwater.dom.start(plainwater.ledger.start);
