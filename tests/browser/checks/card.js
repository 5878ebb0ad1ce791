// The bench card on paper, the token form, and the season as a file.
"use strict";
const assert = require("node:assert");
const path = require("node:path");

async function card(t) {
  const bench = t.asked.bench, page = await t.open(`/bench/${bench}`);
  const {because, group} = await t.api(`/api/benches/${bench}`);
  await page.waitForSelector(".card img", {state: "attached"});
  assert.ok(!(await page.isVisible(".card")), "on the screen there is no card");
  await page.emulateMedia({media: "print"});
  await page.waitForFunction(() => {
    const img = document.querySelector(".card img");
    return img.complete && img.naturalWidth > 0;
  });
  assert.ok(await page.isVisible(".card img"), "on paper there is the code");
  const box = await page.locator(".card img").boundingBox();
  assert.ok(
      box.width >= 110 && Math.abs(box.width - box.height) < 1,
      `large enough for a phone: ${box.width} px`);
  // innerText is the text visible on paper.
  const words = await page.evaluate(() => document.body.innerText);
  assert.ok(
      words.includes(bench) && words.includes(group), "the card names the bench and its group");
  assert.match(words, /not drinking water/);
  assert.ok(!words.includes(because), "a card says nothing that changes");
  for (const state of ["Plain water only", "Full feed", "Weak feed"])
    assert.ok(!new RegExp(`${state}( \\d+ %)?(\\n|$)`).test(words), `no "${state}"`);
  const paper = await page.pdf(
      {format: "A4", path: path.join(process.env.PLAINWATER_SCREENSHOTS, `card-${bench}.pdf`)});
  assert.equal(paper.toString("latin1").match(/\/Type\s*\/Page\b/g).length, 1, "one sheet");
  const code = await (await fetch(`${t.base}/api/benches/${bench}/code.svg`)).text();
  assert.ok(code.includes("<svg") && code.length > 1000);
}

async function door(t) {
  const page = await t.open("/", {wait: false});
  await page.waitForURL(/\/enter/);
  assert.equal(
      t.reader.requests.filter((url) => url.includes("/api/")).length, 0,
      "nothing is asked before one has entered");
  await page.fill("input[name=token]", "not it");
  await page.click("button[type=submit]");
  await page.waitForSelector("[role=alert]");
  assert.equal((await page.context().cookies()).length, 0, "nothing for a wrong line");
  await page.fill("input[name=token]", process.env.BOARD_TOKEN);
  await page.keyboard.press("Enter");
  await page.waitForSelector('body[data-ready="yes"] [data-bench]');
  await page.waitForFunction(() => document.body.dataset.live === "yes");
  const [cookie] = await page.context().cookies();
  assert.ok(
      cookie.httpOnly && cookie.sameSite === "Strict", JSON.stringify({...cookie, value: "…"}));
  assert.ok(!page.url().includes(process.env.BOARD_TOKEN), "the line is in no address");
  await page.goto(`${t.base}/season`);
  await page.waitForSelector("figure[data-bench] canvas");
  assert.equal((await fetch(`${t.base}/api/now`)).status, 401, "who has not entered reads nothing");
  assert.ok((await t.api("/api/now")).benches.length > 0, "programs bring it in a header");
  t.reader.complaints = t.reader.complaints.filter((c) => !/401|403/.test(c));
}

/// What is signed in is listed at the door, and ends there.
async function sessions(t, page) {
  await page.click('[data-who] a[href="/enter"]');
  await page.waitForSelector("#sessions li button");
  assert.equal(await page.locator("#sessions li").count(), 1);
  assert.match(await page.textContent("#sessions li"), /^ines, this browser/);
  assert.ok(await page.evaluate(
      () => document.documentElement.scrollWidth <= document.documentElement.clientWidth));
  await page.click("#sessions li button");
  await page.waitForSelector("#sessions", {state: "hidden"});
  await page.waitForFunction(() => document.activeElement.name === "name");
  assert.equal((await page.context().cookies()).length, 0, "ended");
}

async function name(t) {
  const page = await t.open("/season", {width: 360, height: 740, touch: true});
  await page.click("[data-who] a");
  await page.waitForSelector('body[data-ready="yes"] #by-name');
  assert.equal(await page.evaluate(() => document.activeElement.name), "name", "one types at once");
  assert.equal(await page.locator("#by-token").count(), 0, "there is no token here");
  await page.fill("#name", "ines");
  await page.fill("#secret", "not it, not it");
  await page.click("button[type=submit]");
  await page.waitForSelector("[role=alert]:not(:empty)");
  assert.equal((await page.context().cookies()).length, 0, "nothing for a wrong secret");
  await page.fill("#secret", process.env.BOARD_SECRET);
  await page.keyboard.press("Enter");
  await page.waitForURL(/\/season$/);
  await page.waitForSelector("[data-who] button");
  assert.match(await page.textContent("[data-who]"), /^ines/);
  assert.ok(await page.evaluate(
      () => document.documentElement.scrollWidth <= document.documentElement.clientWidth));
  const [cookie] = await page.context().cookies();
  assert.ok(
      cookie.httpOnly && cookie.sameSite === "Strict", JSON.stringify({...cookie, value: "…"}));
  await page.click("[data-who] button");
  await page.waitForSelector('[data-who] a[href^="/enter?"]');
  assert.equal((await page.context().cookies()).length, 0, "signed out");
  await page.click("[data-who] a");
  await page.fill("#name", "ines");
  await page.fill("#secret", process.env.BOARD_SECRET);
  await page.keyboard.press("Enter");
  await sessions(t, page);
  t.reader.complaints = t.reader.complaints.filter((c) => !/401/.test(c));
}

async function file(t) {
  const address = `file://${process.env.CHART}`;
  t.reader.base = address;
  const page = await t.open(address);
  await page.waitForSelector("figure[data-bench] canvas");
  assert.deepEqual(
      (await page.$$eval("figure[data-bench]", (nodes) => nodes.map((n) => n.dataset.bench)))
          .sort(),
      t.asked.benches);
  const inked =
      await page.$$eval("figure[data-bench] canvas", (all) => Math.max(...all.map((canvas) => {
        const {data} = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
        const colours = new Set();
        for (let i = 0; i < data.length; i += 4)
          if (data[i + 3] > 200) colours.add(`${data[i]} ${data[i + 1]} ${data[i + 2]}`);
        return colours.size;
      })));
  assert.ok(inked > 4, `strips in ink: ${inked} colours`);
  await page.locator("figure[data-bench] [role=slider]").first().focus();
  await page.keyboard.press("End");
  await page.waitForFunction(
      () => /°C/.test(document.querySelector("[data-field=readout]").textContent));
  assert.deepEqual(
      [...new Set(t.reader.requests.filter((url) => !url.startsWith("data:")))], [address],
      "no request but the file");
  await page.screenshot(
      {path: path.join(process.env.PLAINWATER_SCREENSHOTS, "chart-file.png"), fullPage: true});
}

module.exports = {
  "card-on-paper" : card,
  "door-with-a-token" : door,
  "door-by-name" : name,
  "chart-file-is-self-contained" : file
};
