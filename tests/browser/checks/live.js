// Changes while a page is open, and pages whose service goes away.
"use strict";
const assert = require("node:assert");

/// Reports when each page shows plain water for the bench that will be held.
async function hold(t) {
  const bench = t.asked.bench, pages = {};
  for (const [name, path] of Object.entries(
           {today: "/", bench: `/bench/${bench}`, wall: "/wall", ledger: "/ledger"})) {
    pages[name] = await t.open(path);
    if (name !== "ledger")
      assert.doesNotMatch(
          await pages[name].textContent(`[data-bench="${bench}"] [data-field=feeding]`),
          /Plain water/);
    await pages[name].waitForFunction(() => document.body.dataset.live === "yes");
  }
  const rows = await pages.ledger.locator("[data-row]").count();
  assert.ok(rows > 0 || (await pages.ledger.waitForSelector("[data-row]")));
  const newest = Number(await pages.ledger.getAttribute("[data-row]", "data-row"));
  const seen = Object.entries(pages).map(
      ([name, page]) => page.evaluate(
          ({name, bench, newest}) => new Promise((done) => {
            const there = () =>
                (name === "ledger"
                     ? Number(document.querySelector("[data-row]")?.dataset.row) > newest
                     : /Plain water/.test(
                           document.querySelector(`[data-bench="${bench}"] [data-field=feeding]`)
                               ?.textContent));
            const observer = new MutationObserver(
                () => there() && (observer.disconnect(), done([name, Date.now()])));
            observer.observe(document.body, {subtree: true, childList: true, characterData: true});
          }),
          {name, bench, newest}));
  t.say("watching");
  t.say("seen", Object.fromEntries(await Promise.all(seen)));
  assert.equal(await pages.today.getAttribute("body", "data-live"), "yes");
}

/// The service stops, a hold is requested meanwhile, the service returns: the page shows all of it
/// without a reload.
async function back(t) {
  const bench = t.asked.bench, page = await t.open("/", {troubled: true});
  await page.waitForFunction(() => document.body.dataset.live === "yes");
  await page.evaluate(() => (window.kept = true));
  t.say("open");
  assert.equal(await t.heard(), "stopped");
  await page.waitForFunction(() => document.body.dataset.live === "no");
  const notice = page.locator(".notice");
  await notice.waitFor({state: "visible"});
  assert.match(await notice.textContent(), /Not connected/);
  t.say("noticed");
  assert.equal(await t.heard(), "started");
  await page.waitForFunction(() => document.body.dataset.live === "yes");
  await page.waitForFunction(
      (name) => /Plain water/.test(
          document.querySelector(`[data-bench="${name}"] [data-field=feeding]`).textContent),
      bench);
  await notice.waitFor({state: "hidden"});
  assert.equal(await page.evaluate(() => window.kept), true, "without a reload");
}

async function stale(t) {
  const page = await t.open("/wall", {troubled: true, width: 800, height: 480});
  await page.waitForFunction(() => document.body.dataset.live === "yes");
  assert.doesNotMatch(await page.textContent("body"), /STALE/);
  t.say("open");
  assert.equal(await t.heard(), "stopped");
  const begin = Date.now();
  await page.waitForFunction(() => /STALE/.test(document.body.textContent), null, {timeout: 60000});
  t.say("stale", Date.now() - begin);
  assert.equal(await t.heard(), "started");
  await page.waitForFunction(
      () => !/STALE/.test(document.body.textContent), null, {timeout: 60000});
}

/// Nothing moves on electronic paper: an unchanged wall is not drawn again.
async function still(t) {
  const page = await t.open("/wall", {width: 800, height: 480});
  await page.waitForFunction(() => document.body.dataset.live === "yes");
  await page.waitForTimeout(500);
  const drawn = await page.evaluate(
      () => new Promise((done) => {
        let n = 0;
        new MutationObserver((all) => (n += all.length))
            .observe(document.body, {subtree: true, childList: true, characterData: true});
        setTimeout(() => done(n), 3000);
      }));
  assert.equal(drawn, 0);
  const motion = await page.evaluate(() => document.getAnimations().length);
  assert.equal(motion, 0);
  const fits = await page.evaluate(
      () =>
          [document.documentElement.scrollHeight <= innerHeight,
           document.documentElement.scrollWidth <= innerWidth]);
  assert.deepEqual(fits, [true, true], "nothing to scroll");
}

/// The way to the service swallows everything on it, and nobody is told: the page takes it up anew.
async function silence(t) {
  const bench = t.asked.bench,
        page = await t.open("/", {troubled: true, prepare: (page) => page.clock.install()});
  await page.waitForFunction(() => document.body.dataset.live === "yes");
  t.say("open");
  assert.equal(await t.heard(), "held");
  assert.equal(await page.getAttribute("body", "data-live"), "yes");
  await page.clock.fastForward("01:00");
  await page.waitForFunction(
      (name) => /Plain water/.test(
          document.querySelector(`[data-bench="${name}"] [data-field=feeding]`).textContent),
      bench);
  await page.waitForFunction(() => document.body.dataset.live === "yes");
}

/// What could not be read at first comes by itself.
async function again(t) {
  for (const [path, asked, shown] of [
           ["/", "/api/now", "[data-bench]"], ["/ledger", "/api/ledger", "[data-row]"],
           [`/bench/${t.asked.bench}`, "/api/season", ".strip"],
           ["/season", "/api/season", ".strip"]]) {
    let failed = 0;
    const page = await t.open(path, {
      troubled: true,
      wait: false,
      prepare: (page) => page.route(
          (url) => url.pathname === asked,
          (route) => (failed++ < 2 ? route.abort() : route.continue()))
    });
    await page.waitForSelector(shown);
    assert.ok(failed > 2, path);
    await page.close();
  }
}

module.exports = {
  "stream-lost-unseen" : silence,
  "failed-answers-are-asked-for-again" : again,
  "hold-comes-by-itself" : hold,
  "service-comes-back" : back,
  "wall-shows-that-it-is-stale" : stale,
  "wall-keeps-still" : still
};
