// The season by keyboard, mouse and touch.
"use strict";
const assert = require("node:assert");

const ticks = (page) => page.$$eval(
    "figure[data-bench]:first-of-type .dygraph-axis-label-x",
    (nodes) => nodes.map((n) => n.textContent).join(" "));
const readout = (page) =>
    page.locator("figure[data-bench] [data-field=readout]").first().textContent();
// Waits until everything requested so far is drawn.
const drawn = (page) => page.evaluate(
    () => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))));
async function changes(what, before, patience = 10000) {
  const end = Date.now() + patience;
  for (;;) {
    const now = await what();
    if (now !== before) return now;
    assert.ok(Date.now() < end, `still "${before}"`);
    await new Promise((done) => setTimeout(done, 30));
  }
}
async function becomes(what, wanted) {
  const end = Date.now() + 10000;
  while ((await what()) !== wanted) {
    assert.ok(Date.now() < end, `"${await what()}" does not become "${wanted}"`);
    await new Promise((done) => setTimeout(done, 30));
  }
}

async function keyboard(t) {
  const page = await t.open("/season");
  const plot = page.locator("figure[data-bench] [role=slider]").first();
  await plot.waitFor();
  // Only by Tab, as without a mouse.
  for (let i = 0; i < 40 && !(await plot.evaluate((n) => n === document.activeElement)); ++i)
    await page.keyboard.press("Tab");
  assert.ok(
      await plot.evaluate((n) => n === document.activeElement), "Tab reaches the first strip");
  const none = await readout(page), all = await ticks(page);
  await page.keyboard.press("ArrowLeft");
  const last = await changes(() => readout(page), none);
  await page.keyboard.press("ArrowLeft");
  const earlier = await changes(() => readout(page), last);
  await page.keyboard.press("ArrowRight");
  await becomes(() => readout(page), last);
  assert.notEqual(earlier, last);
  assert.equal(await plot.getAttribute("aria-valuetext"), last, "a screen reader hears the same");
  for (let i = 0; i < 4; ++i) await page.keyboard.press("+");
  await drawn(page);  // or "close" could be what the third of them shows
  const close = await changes(() => ticks(page), all);
  await page.keyboard.press("-");
  await changes(() => ticks(page), close);
  await page.keyboard.press("Escape");
  await becomes(() => ticks(page), all);
  const second = page.locator("figure[data-bench]").nth(1).locator("[data-field=readout]");
  assert.equal(
      (await second.textContent()).split(" · ")[0], last.split(" · ")[0],
      "all strips point at the same night");
}

async function mouse(t) {
  const page = await t.open("/season"), all = await ticks(page);
  const box = await page.locator("figure[data-bench] [role=slider]").first().boundingBox();
  await page.mouse.move(box.x + box.width * 0.4, box.y + 60);
  await page.mouse.down();
  await page.mouse.move(box.x + box.width * 0.5, box.y + 60, {steps: 4});
  await page.mouse.move(box.x + box.width * 0.6, box.y + 60, {steps: 4});
  await page.mouse.up();
  await changes(() => ticks(page), all);
  await page.mouse.dblclick(box.x + box.width * 0.5, box.y + 60);
  await becomes(() => ticks(page), all);
}

async function fingers(t) {
  const page = await t.open("/season", {width: 360, height: 740, touch: true});
  const plot = page.locator("figure[data-bench] [role=slider]").first();
  await plot.scrollIntoViewIfNeeded();
  const box = await plot.boundingBox(), all = await ticks(page), none = await readout(page),
        y = box.y + 80;
  const hand = await page.context().newCDPSession(page);
  const touch = (type, ...xs) => hand.send(
      "Input.dispatchTouchEvent",
      {type, touchPoints: xs.map((x, id) => ({x: box.x + box.width * x, y, id}))});
  // One finger selects.
  await touch("touchStart", 0.5);
  const first = await changes(() => readout(page), none);
  await touch("touchMove", 0.75);
  await changes(() => readout(page), first);
  await touch("touchEnd");
  // Two fingers zoom.
  await touch("touchStart", 0.45, 0.6);
  for (const spread of [0.05, 0.1, 0.15, 0.2])
    await touch("touchMove", 0.45 - spread, 0.6 + spread);
  await touch("touchEnd");
  const close = await changes(() => ticks(page), all);
  await page.waitForTimeout(500);
  await touch("touchStart", 0.3, 0.9);
  for (const nearer of [0.1, 0.2, 0.25]) await touch("touchMove", 0.3 + nearer, 0.9 - nearer);
  await touch("touchEnd");
  await changes(() => ticks(page), close);
}

async function yearAndBench(t) {
  const page = await t.open("/season");
  const names =
      await page.$$eval("figure[data-bench]", (nodes) => nodes.map((n) => n.dataset.bench));
  await page.fill("#filter", names[1]);
  await page.waitForFunction((name) => {
    const all = [...document.querySelectorAll("figure[data-bench]")];
    return all.length === 1 && all[0].dataset.bench === name;
  }, names[1]);
  assert.ok(page.url().includes(names[1]), "the address shows it again");
  await page.fill("#filter", "");
  await page.waitForFunction(
      (n) => document.querySelectorAll("figure[data-bench]").length === n, names.length);
  const {years} = await t.api("/api/season");
  assert.deepEqual(
      await page.$$eval(
          "#year option", (nodes) => nodes.map((n) => Number(n.value)).filter(Boolean)),
      years);
  const before = await ticks(page);
  await page.selectOption("#year", String(years[0]));
  await changes(() => ticks(page), before);
}

module.exports = {
  "season-by-keyboard" : keyboard,
  "season-by-mouse" : mouse,
  "season-by-fingers" : fingers,
  "season-by-year-and-bench" : yearAndBench
};
