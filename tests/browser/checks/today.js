// Today as a work list, names of any length, the wall's lines.
"use strict";
const assert = require("node:assert");
const said = require("../said");
const {read, accessible, narrow, picture} = require("../anybody");

const kKinds = [
  ["hold", "Hold", "bench", "care"], ["release", "Release", "bench", "care"],
  ["extend", "Extend", "bench", "care"], ["exempt", "Exempt", "bench", "care"],
  ["watered", "Watered", "bench", "care"], ["runoff", "Runoff", "bench", "care"],
  ["growth-started", "Growth has started", "bench", "care"],
  ["acknowledge", "Acknowledge", "need", "care"], ["end-chill", "End chill", "bench", "care"],
  ["withdraw", "Withdraw", "bench", "care"], ["trust", "Trust", "pump", "keeper"],
  ["arm", "Arm", "pump", "keeper"]
];
/// Somebody of this role has signed in, and these are the kinds of requests.
const as = (role) => async (page) => {
  await page.route("**/api/me", (route) => route.fulfill({
    json: {
      name: role === "look" ? "Anna" : "Ines",
      role,
      may_sign_in: true,
      way: "person",
      why_not: null
    }
  }));
  const kinds = kKinds.map(
      ([request, label, of, needed]) =>
          ({request, label, of, role: needed, fields: [], common: true, words: label}));
  await page.route("**/api/kinds", (route) => route.fulfill({json: {kinds}}));
};
const size = (asked) => ({
  width: asked.width,
  height: asked.width < 500 ? 740 : 900,
  dark: asked.dark,
  touch: asked.width < 500,
  prepare: as (asked.role || "keeper")
});
const kShown = {
  do: 8,
  acknowledged: 4,
  done: 4,
  next: 5
};
// Many of a kind stand as one item, each within it.
const items = (page, what, each = "> li") => page.$$eval(
    `[data-work="${what}"] ${each}`,
    (nodes) =>
        nodes.map((n) => ({
                    text: n.textContent,
                    asks: [...n.querySelectorAll("[data-request]")].map((b) => b.dataset.request),
                    top: n.getBoundingClientRect().top
                  })));
const settled = (page) => page.waitForFunction(
    () =>
        document.querySelector("[data-work=done] li") && document.querySelector("[data-request]"));

/// Each list as /api/today has it; and the page is for anybody.
async function work_list(t) {
  const page = await t.open("/", size(t.asked));
  await settled(page);
  const now = await t.api("/api/now"), today = await t.api("/api/today"), site = said.by(now.site);
  for (const what of ["do", "acknowledged"]) {
    const shown = await items(page, what, "[data-need]");
    assert.ok(today[what].length <= kShown[what]);
    assert.equal(shown.length, today[what].length, what);
    for (const {need, asks} of today[what]) {
      const row = shown.find((r) => said.plain(r.text).includes(said.plain(need.text)));
      assert.ok(row, need.text);
      assert.deepEqual(row.asks, asks.map((ask) => ask.request), need.id);
    }
  }
  assert.ok(today.do.length > 0 && today.acknowledged.length > 0 && today.next.length > 0);
  const done = await items(page, "done");
  assert.equal(done.length, Math.min(kShown.done, today.done.length));
  done.forEach((row, i) => {
    const {time, who, text} = today.done[i], hour = site.moment(time).split(", ")[1];
    for (const part of [who, text, hour])
      assert.ok(said.plain(row.text).includes(said.plain(part)), `${part} in ${row.text}`);
  });
  const next = await items(page, "next");
  next.forEach((row, i) => {
    assert.ok(said.plain(row.text).includes(said.plain(today.next[i].text)), row.text);
    assert.deepEqual(row.asks, today.next[i].asks.map((ask) => ask.request));
    if (today.next[i].time) assert.ok(row.text.includes(site.day(today.next[i].time)), row.text);
  });
  // What is acknowledged counts nowhere, and stands below all else that is to be done.
  assert.ok((await page.title()).startsWith(`(${today.do.length}) `), await page.title());
  const words =
      ["No", "One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine", "Ten"];
  assert.ok((await page.textContent("h1"))
                .startsWith(`${words[today.do.length] || today.do.length} thing`));
  const seen = await items(page, "acknowledged");
  assert.ok(Math.min(...seen.map((r) => r.top)) > Math.max(...next.map((r) => r.top)));
  await benches(page, now, site);
  await read(page);
  await narrow(page);
  await picture(t, page);
  await accessible(page);
  await t.reader.violations(page);
}

/// Each bench has its newest air, and its two commonest wishes as large as a thumb.
async function benches(page, now, site) {
  for (const bench of now.benches) {
    const entry = page.locator(`.entry[data-bench="${bench.name}"]`), air = bench.air;
    const text = said.plain(await entry.locator("[data-field=air]").textContent());
    if (air.temperature_c !== null)
      assert.ok(text.includes(said.plain(site.temperature(air.temperature_c))), text);
    if (air.temperature_c !== null && air.humidity_percent !== null)
      assert.ok(text.includes(`${Math.round(air.humidity_percent)} %`), text);
    assert.equal(/ old$/.test(text), air.late, text);
    const asks = await entry.locator("[data-request]")
                     .evaluateAll((all) => all.map((b) => b.dataset.request));
    assert.deepEqual(asks.slice(0, 2), [bench.hold ? "release" : "hold", "watered"]);
  }
  const small = await page.$$eval(
      "[data-request]",
      (all) => all.filter((b) => b.offsetParent)
                   .map((b) => [b.getBoundingClientRect(), b.textContent])
                   .filter(([box]) => box.width < 44 || box.height < 44)
                   .map(([box, label]) => `${label}: ${box.width} × ${box.height}`));
  assert.deepEqual(small, []);
}

/// Who may only read has no button, and is told how to ask.
async function readers(t) {
  const page = await t.open("/", size({...t.asked, role: "look"}));
  await page.waitForSelector(".who-asks .reading");
  assert.equal(await page.locator("[data-request]").count(), 0);
  await page.waitForSelector("[data-work=done] li");
  await accessible(page);
}

/// What others ask for meanwhile appears, and neither focus nor place is lost.
async function follows(t) {
  const page = await t.open("/", size(t.asked)), bench = t.asked.bench;
  await settled(page);
  await page.waitForFunction(() => document.body.dataset.live === "yes");
  const before = await t.api("/api/today");
  const button = page.locator(`.entry[data-bench="${bench}"] [data-request=watered]`);
  await button.scrollIntoViewIfNeeded();
  await button.focus();
  // The strips near it take their room once they are drawn.
  await page.waitForFunction(() => {
    const seen = [...document.querySelectorAll(".entry[data-seen]")];
    return seen.length > 1 && seen.every((entry) => entry.querySelector(".lately svg"));
  });
  const top = (await button.boundingBox()).y;
  await page.evaluate(() => {
    window.heard = [];
    new MutationObserver(
        () => window.heard.push(document.querySelector("[aria-live=polite]").textContent))
        .observe(
            document.querySelector("[aria-live=polite]"),
            {childList: true, subtree: true, characterData: true});
  });
  t.say(
      "open",
      before.do.flatMap((task) => task.asks)
          .find((ask) => ask.request === "acknowledge" && ask.notice));
  assert.equal(await t.heard(), "asked");
  await page.waitForFunction(
      (n) => document.querySelectorAll("[data-work=acknowledged] > li").length === n,
      before.acknowledged.length + 1);
  await page.waitForFunction(
      () => /watered|noted/i.test(document.querySelector("[data-work=done]").textContent));
  const after = await t.api("/api/today");
  assert.equal(after.do.length, before.do.length - 1);
  assert.ok((await page.title()).startsWith(after.do.length ? `(${after.do.length}) ` : "Today"));
  await page.waitForFunction(() => window.heard.some((text) => text.includes("Tom")));
  assert.equal(
      await page.evaluate(() => document.activeElement.dataset.request), "watered",
      "the focus stays");
  const moved = (await button.boundingBox()).y - top;
  assert.ok(Math.abs(moved) <= 2, `its place stays: ${moved} px`);
}

/// Every piece of a name on one line, none of it cut off; `whole`: names that need no hyphen.
const broken = (page) => page.evaluate(() => {
  const found = [];
  for (const node of document.querySelectorAll(".named")) {
    if (!node.getClientRects().length) continue;
    const walker = document.createTreeWalker(node, NodeFilter.SHOW_TEXT), pieces = [];
    while (walker.nextNode()) {
      const text = walker.currentNode, range = document.createRange();
      const end = text.data.trimEnd().length;
      range.setStart(text, 0);
      range.setEnd(text, end);
      const lines = new Set([...range.getClientRects()].map((box) => Math.round(box.top)));
      if (lines.size > 1) found.push(`broken: ${text.data}`);
      pieces.push(...lines);
      const box = range.getBoundingClientRect(), room = node.getBoundingClientRect();
      if (box.right > room.right + 1 || box.left < room.left - 1)
        found.push(`cut: ${text.data}, ${box.width.toFixed(0)} px in ${room.width.toFixed(0)}`);
      if (box.right > innerWidth + 1) found.push(`beyond the screen: ${text.data}`);
      if (parseFloat(getComputedStyle(node).fontSize) < 11)
        found.push(`too small: ${text.data}, ${getComputedStyle(node).fontSize}`);
    }
    if (pieces.length > 3 && new Set(pieces).size === pieces.length)
      found.push(`each piece on a line of its own: ${node.textContent}`);
  }
  return found;
});
async function names(t) {
  for (const path
           of ["/", "/ledger", "/season", "/wall", `/bench/${t.asked.names[0]}`,
               `/bench/${t.asked.names[1]}`]) {
    const page = await t.open(path, size(t.asked));
    if (path === "/ledger") await page.waitForSelector("[data-row]");
    const shown = await page.$$eval(".named", (all) => all.map((n) => n.textContent));
    assert.ok(t.asked.names.some((name) => shown.includes(name)), `${path} has a long name`);
    const found = await broken(page);
    assert.deepEqual(found, [], `${path}: ${found.slice(0, 3).join("; ")}`);
    if (path !== "/wall") await narrow(page);
    await picture(
        {asked: {...t.asked, path, called: `names${path.slice(0, 7).replace(/\W/g, "-")}`}}, page);
    if (path.startsWith("/bench")) {
      await page.emulateMedia({media: "print"});
      assert.deepEqual(await broken(page), [], `${path} on paper`);
    }
    await page.context().close();
  }
}

/// What a bench may have and the day beside it, where they touch.
const crowded = (page) => page.evaluate(
    () => [...document.querySelectorAll(".plates:not(.narrow) .plate")]
              .filter((plate) => {
                const range = document.createRange();
                range.selectNodeContents(plate.querySelector(".may"));
                const till = plate.querySelector(".till").getBoundingClientRect();
                return range.getBoundingClientRect().right > till.left - 4;
              })
              .map((plate) => plate.textContent));
/// Letters that hang below the line are not cut, and what is acknowledged is not told.
async function wall_lines(t) {
  for (const [width, height] of [[1920, 1080], [1440, 900], [800, 480], [360, 740]]) {
    const page = await t.open("/wall", {width, height, prepare: as ("look")});
    const cut = await page.evaluate(() => {
      const found = [];
      for (const node of document.querySelectorAll(
               ".site, .as-of, .plate h2, .may, .till, .wall-need")) {
        const range = document.createRange();
        range.selectNodeContents(node);
        const text = range.getBoundingClientRect();
        for (let of = node; of; of = of.parentElement) {
          const clips = getComputedStyle(of).overflowY !== "visible" && of !== document.body &&
              of !== document.documentElement;
          const room = clips ? of.getBoundingClientRect() : {top: 0, bottom: innerHeight};
          if (!clips && of.parentElement) continue;
          if (text.bottom > room.bottom + 0.5 || text.top < room.top - 0.5)
            found.push(`${node.className || node.tagName} "${node.textContent}": ${text.top}–${
                text.bottom} in ${room.top}–${room.bottom} of ${of.className || of.tagName}`);
        }
      }
      return found;
    });
    assert.deepEqual(cut, [], `${width} × ${height}`);
    assert.deepEqual(await crowded(page), [], `${width} × ${height}`);
    await page.screenshot({path: `${process.env.PLAINWATER_SCREENSHOTS}/wall-lines-${width}.png`});
    const today = await t.api("/api/today"), line = await page.textContent(".wall-need");
    if (today.do.length) {
      const {bench, pump} = today.do[0].need;
      assert.ok(line.includes(bench || pump || ""), line);
      assert.equal(
          await page.getAttribute("[data-need]", "data-need"), today.do[0].need.kind,
          "the first that nobody has acknowledged");
    } else {
      assert.match(line, /Nothing needs you/);
    }
    await page.context().close();
  }
}

module.exports = {
  "today-is-a-work-list" : work_list,
  "today-without-buttons-for-readers" : readers,
  "today-follows-what-others-ask" : follows,
  "long-names-stay-whole" : names,
  "wall-keeps-its-descenders" : wall_lines
};
