// Requests whose answer is lost: the wish stays as it is, goes again only by a tap, and changes
// nothing twice.
"use strict";
const assert = require("node:assert");
const {kSizes, dialog, state, begin, fill, would, confirm, press, close, watch} =
    require("../asking");

const kLost = "**/api/requests";
async function hold(t, page, fields = {}) {
  await begin(page, "hold");
  await fill(page, {until: "1 week", ...fields});
  return would(page);
}

/// The request arrives, its answer does not; the page is even loaded anew. Sent again, it gets the
/// answer it had.
async function answer(t) {
  const page = await t.open(`/bench/${t.asked.bench}`, {...kSizes[t.asked.size], troubled: true}),
        sent = watch(page);
  let arrived = null;
  await page.route(kLost, async (route) => {
    const got = await route.fetch();
    arrived = await got.json();
    await route.abort("connectionreset");
  });
  await hold(t, page, {note: "before the frost"});
  await confirm(page);
  assert.match(await state(page, "lost"), /not known whether this arrived/);
  assert.equal(arrived.done, true, "the service had done it");
  t.say("lost", sent[0].id);
  assert.equal(await t.heard(), "counted");

  await page.unroute(kLost);
  await page.reload();
  await page.waitForSelector(".kept");
  assert.match(await page.textContent(".kept"), /Hold .*: no answer came/);
  await page.locator(".kept button").click();
  await state(page, "lost");
  await press(page, "Send again");
  await state(page, "done");
  assert.equal(await dialog(page).locator(".answer").textContent(), arrived.text.trim());
  assert.equal(sent.length, 2);
  assert.deepEqual(sent[1], sent[0], "the same wish with the same id");
  assert.equal(await page.locator(".kept").count(), 0);
}

/// The service is away when the wish is sent, and comes back: nothing goes by itself.
async function restart(t) {
  const page = await t.open(`/bench/${t.asked.bench}`, {...kSizes[t.asked.size], troubled: true}),
        sent = watch(page);
  await page.waitForFunction(() => document.body.dataset.live === "yes");
  await hold(t, page);
  t.say("open");
  assert.equal(await t.heard(), "stopped");
  await confirm(page);
  await state(page, "lost");
  await page.waitForFunction(() => document.body.dataset.live === "no");
  await page.waitForFunction(
      () =>
          /Not connected/.test(document.querySelector("dialog.ask [data-connection]").textContent));
  t.say("noticed");
  assert.equal(await t.heard(), "started");
  await page.waitForFunction(() => document.body.dataset.live === "yes");
  await page.waitForFunction(
      () => /Nothing was sent meanwhile/.test(document.querySelector("dialog.ask").textContent));
  assert.equal(sent.length, 1, "nothing was sent by itself");
  t.say("back", sent[0].id);
  assert.equal(await t.heard(), "counted");
  await press(page, "Send again");
  await state(page, "done");
  assert.deepEqual(sent[1], sent[0]);
}

/// The same while the dialog is open and nothing was sent yet: the sentence is asked for anew.
async function restart_before(t) {
  const page = await t.open(`/bench/${t.asked.bench}`, {...kSizes[t.asked.size], troubled: true}),
        sent = watch(page);
  await page.waitForFunction(() => document.body.dataset.live === "yes");
  await hold(t, page);
  t.say("open");
  assert.equal(await t.heard(), "stopped");
  await fill(page, {until: "3 days"});
  await page.waitForFunction(
      () => /no answer came/.test(document.querySelector("dialog.ask .would").textContent));
  assert.equal(await dialog(page).locator(".sure").isEnabled(), false);
  t.say("noticed");
  assert.equal(await t.heard(), "started");
  await page.waitForFunction(() => document.body.dataset.live === "yes");
  await would(page);
  assert.equal(sent.length, 0);
  t.say("back");
  assert.equal(await t.heard(), "counted");
  await confirm(page);
  await state(page, "done");
}

/// Nothing can be recorded: nothing has changed, and that is said; with room again it goes.
async function full(t) {
  const page = await t.open(`/bench/${t.asked.bench}`, {...kSizes[t.asked.size], troubled: true}),
        sent = watch(page);
  await hold(t, page);
  t.say("open");
  assert.equal(await t.heard(), "full");
  await confirm(page);
  assert.match(await state(page, "lost"), /Nothing has changed/);
  t.say("refused", sent[0].id);
  assert.equal(await t.heard(), "room");
  await press(page, "Send again");
  await state(page, "done");
  assert.deepEqual(sent[1], sent[0]);
}

/// What is forgotten is gone, from the page and after a reload.
async function forgotten(t) {
  const page = await t.open(`/bench/${t.asked.bench}`, {...kSizes[t.asked.size], troubled: true}),
        sent = watch(page);
  await page.route(kLost, (route) => route.abort());
  await hold(t, page);
  await confirm(page);
  await state(page, "lost");
  await close(page);
  await page.locator(".kept button").click();
  await state(page, "lost");
  await press(page, "Forget it");
  await page.waitForSelector(".kept", {state: "detached"});
  await page.unroute(kLost);
  await page.reload();
  await page.waitForSelector("#asks .ask-for");
  assert.equal(await page.locator(".kept").count(), 0);
  assert.equal(sent.length, 1);
}

module.exports = {
  "asks-and-the-answer-is-lost" : answer,
  "asks-while-the-service-restarts" : restart,
  "asks-after-the-service-restarted" : restart_before,
  "asks-on-a-full-disk" : full,
  "asks-and-forgets-it" : forgotten
};
