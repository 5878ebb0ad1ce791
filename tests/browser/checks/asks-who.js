// People who sign in: what each may ask for, and a session that ends while somebody asks.
"use strict";
const assert = require("node:assert");
const {kSizes, dialog, state, begin, fill, would, confirm, press, watch} = require("../asking");

async function enter(t, page, name) {
  await page.fill("#name", name);
  await page.fill("#secret", t.asked.secret);
  await page.click("#by-name button");
  await page.waitForURL((url) => url.pathname === `/bench/${t.asked.bench}`);
  await page.waitForSelector("#asks .ask-for");
}
const offered = (page) =>
    page.$$eval("#asks [data-request]", (nodes) => nodes.map((node) => node.dataset.request));

/// A reader signs in by the link, asks, and loses the session before it is sent: the wish waits,
/// and goes by another tap.
async function carer(t) {
  const page = await t.open(`/bench/${t.asked.bench}`, {...kSizes[t.asked.size], troubled: true}),
        sent = watch(page);
  await page.locator(".reading a").click();
  await enter(t, page, "ines");
  const may = await offered(page);
  assert.ok(may.includes("hold") && may.includes("note"), may.join());
  assert.ok(!may.includes("arm") && !may.includes("trust"), may.join());
  await begin(page, "hold");
  await fill(page, {until: "1 week", note: "before the frost"});
  await would(page);
  assert.match(await dialog(page).textContent(), /You ask as ines/);
  await page.context().clearCookies();
  await confirm(page);
  await state(page, "lost");
  await dialog(page).locator("a").waitFor();
  assert.match(await dialog(page).textContent(), /not signed in/);
  t.say("refused", sent[0].id);
  assert.equal(await t.heard(), "counted");

  await dialog(page).locator("a").click();
  await enter(t, page, "ines");
  await page.locator(".kept button").click();
  await state(page, "lost");
  await press(page, "Send again");
  await state(page, "done");
  assert.deepEqual(sent[1], sent[0]);
}
async function keeper(t) {
  const page = await t.open(
      `/enter?to=${encodeURIComponent(`/bench/${t.asked.bench}`)}`,
      {...kSizes[t.asked.size], wait: false});
  await enter(t, page, "ola");
  assert.ok((await offered(page)).includes("arm"));
}

module.exports = {
  "asks-as-a-carer" : carer,
  "asks-as-a-keeper" : keeper
};
