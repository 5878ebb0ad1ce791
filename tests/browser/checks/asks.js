// Requests by the pages: each kind by hand at both widths, by keyboard, in every state of the
// dialog, on paper, and by who may only read.
"use strict";
const assert = require("node:assert");
const fs = require("node:fs");
const path = require("node:path");
const {kSizes, dialog, state, begin, fill, would, confirm, press, close, watch} =
    require("../asking");
const {accessible, narrow} = require("../anybody");

/// One wish after the other; the caller looks into the store before and after each is sent.
async function each(t) {
  const page = await t.open(`/bench/${t.asked.bench}`, kSizes[t.asked.size]), sent = watch(page);
  for (const wish of t.asked.wishes) {
    await page.locator(`[data-request="${wish.request}"]`).first().waitFor({state: "attached"});
    await begin(page, wish.request, wish.part);
    await fill(page, wish.fields);
    const said = await would(page);
    assert.equal(sent.length, 0, "nothing is sent before it is confirmed");
    assert.match(
        await dialog(page).locator(".sure").textContent(), new RegExp(`^${wish.label}`),
        "the button says what it does");
    t.say("would", said);
    assert.equal(await t.heard(), "go");
    await confirm(page);
    await state(page, "done");
    t.say("done", {
      text: await dialog(page).locator(".answer").textContent(),
      lines: await dialog(page).locator("[data-line]").allTextContents(),
      sent: sent.splice(0)
    });
    assert.equal(await t.heard(), "next");
    if (wish.undo) {
      await press(page, wish.undo);
      await page.waitForSelector("dialog.ask[data-undone]");
      t.say("undone", {text: await dialog(page).textContent(), sent: sent.splice(0)});
      assert.equal(await t.heard(), "next");
    }
    await close(page);
  }
  await t.reader.violations(page);
}

async function picture(t, page, name) {
  const {size, dark} = t.asked;
  const file = `ask-${name}-${kSizes[size].width}-${dark ? "dark" : "light"}.png`;
  await page.screenshot({path: path.join(process.env.PLAINWATER_SCREENSHOTS, file)});
}
/// Controls in the dialog that a thumb would miss.
const small = (page) => page.evaluate(
    () => [...document.querySelectorAll("dialog.ask button, dialog.ask .chips label, .ask-for")]
              .filter((node) => node.offsetWidth)
              .map((node) => [node.textContent, node.getBoundingClientRect()])
              .filter(([, box]) => box.width < 48 || box.height < 48)
              .map(([text, box]) => `${text}: ${box.width} × ${box.height}`));
/// Every state of the dialog: accessible, no wider than the screen, as large as a thumb.
async function states(t) {
  const page = await t.open(
      `/bench/${t.asked.bench}`, {...kSizes[t.asked.size], dark: t.asked.dark, troubled: true});
  const look = async (name) => {
    await page.evaluate(() => Promise.all(document.getAnimations().map((a) => a.finished)));
    await picture(t, page, name);
    await narrow(page);
    assert.deepEqual(await small(page), [], name);
    await accessible(page);
  };
  const answer = (status, body, headers = {}) => page.route(
      "**/api/requests",
      (route) => route.fulfill({status, headers, contentType: "application/problem+json", body}));
  await page.waitForSelector("#asks .ask-for");
  await page.locator("#asks").scrollIntoViewIfNeeded();
  await look("page");
  await page.locator("#asks summary").click();
  await look("more");
  await begin(page, "hold");
  await would(page);
  await look("hold");
  await fill(page, {until: "another time"});
  await would(page);
  await look("hold-at-a-time");
  await close(page);
  await begin(page, "watered");
  await look("watered-nothing-said");
  await fill(page, {litres: "2,5 buckets"});
  await page.waitForSelector("dialog.ask [aria-invalid]");
  await look("watered-wrong");
  await close(page);
  await begin(page, "arm");
  await would(page);
  await look("arm");
  await close(page);
  for (const [name, prepare, words] of [
           ["lost", () => page.route("**/api/requests", (route) => route.abort()), /not known/],
           ["busy", () => answer(503, '{"detail":"It is not stored."}'), /Nothing has changed/],
           ["often", () => answer(429, '{"detail":"x"}', {"Retry-After": "40"}), /in 40 seconds/],
           ["who", () => answer(403, '{"detail":"x"}'), /signed in|Sign in/],
           ["unreadable", () => answer(502, "<html>"), /not known/]]) {
    await prepare();
    await begin(page, "note");
    await fill(page, {note: `of state ${name}`});
    await would(page);
    await confirm(page);
    await state(page, "lost");
    await page.waitForFunction(
        () => document.querySelector("dialog.ask .would").textContent.length > 5);
    assert.match(await dialog(page).textContent(), words, name);
    await look(name);
    await close(page);
    await page.waitForSelector(".kept");
    await look(`kept-${name}`);
    await page.locator(".kept button").click();
    await state(page, "lost");
    await press(page, "Forget it");
    await page.waitForSelector(".kept", {state: "detached"});
    await page.unroute("**/api/requests");
  }
  await begin(page, "hold");
  await would(page);
  await confirm(page);
  await state(page, "done");
  await look("done");
  await t.reader.violations(page);
}

/// No mouse at all: the button, a field, the sentence, the answer, and back to where one was.
async function keyboard(t) {
  const page = await t.open(`/bench/${t.asked.bench}`);
  await page.locator("#asks [data-request=hold]").first().focus();
  await page.keyboard.press("Enter");
  await state(page, "form");
  const focused = () => page.evaluate(() => {
    const node = document.activeElement;
    return [node.closest("dialog") ? "dialog" : "page", node.textContent || node.value || ""];
  });
  assert.deepEqual(await focused(), ["dialog", `Hold ${t.asked.bench}`], "its name is read first");
  await would(page);
  const heard = await page.locator("dialog.ask [role=status]").first();
  await page.waitForFunction(
      () => document.querySelector("dialog.ask [role=status]").textContent ===
          document.querySelector("dialog.ask .would").textContent);
  assert.ok(await heard.count(), "what would change is spoken within the dialog");
  for (let i = 0; i < 40; ++i) {
    await page.keyboard.press("Tab");
    const [where, text] = await focused();
    assert.ok(where === "dialog" || text.length > 200, `the focus stays: ${where} ${text}`);
    if (await page.evaluate(() => document.activeElement.name?.endsWith("-until"))) break;
  }
  await page.keyboard.press("ArrowLeft");
  await page.waitForFunction(() => document.querySelector("dialog.ask .sure").disabled);
  const changed = await would(page);
  for (let i = 0; i < 40; ++i) {
    await page.keyboard.press("Tab");
    if (await page.evaluate(() => document.activeElement.classList.contains("sure"))) break;
  }
  await page.keyboard.press("Space");
  await state(page, "done");
  t.say("held", changed);
  await page.keyboard.press("Escape");
  await page.waitForSelector("dialog.ask", {state: "detached"});
  const back = await page.evaluate(() => document.activeElement.dataset.request);
  assert.equal(back, "hold", "back on the button");
}

/// Times are chosen by the clock of the site, wherever the phone thinks it is, and sent in UTC;
/// figures with a comma or a point.
async function by_the_sites_clock(t) {
  const page = await t.open(`/bench/${t.asked.bench}`), tried = [];
  page.on("request", (request) => {
    if (request.url().endsWith("/api/requests/try")) tried.push(JSON.parse(request.postData()));
  });
  const parsed = (texts) => page.evaluate(
      (all) => all.map((text) => {
        const at = plainwater.askTime.parsed(text);
        return at === null ? null : plainwater.askTime.sent(at);
      }),
      texts);
  assert.deepEqual(
      await parsed([
        "2030-07-01T12:00", "2030-01-01T12:00", "2030-03-31T00:59", "2030-03-31T01:30",
        "2030-03-31T02:00", "2030-10-27T01:30", "2030-10-27T02:00", "soon"
      ]),
      [
        "2030-07-01T11:00:00Z", "2030-01-01T12:00:00Z", "2030-03-31T00:59:00Z", null,
        "2030-03-31T01:00:00Z", "2030-10-27T00:30:00Z", "2030-10-27T02:00:00Z", null
      ]);
  await begin(page, "watered");
  for (const [text, litres] of [["2,5", 2.5], ["3.25", 3.25], ["7", 7]]) {
    await fill(page, {litres: text});
    await would(page);
    assert.equal(tried.at(-1).litres, litres);
  }
  const before = tried.length;
  await fill(page, {litres: "1,2,3"});
  await page.waitForSelector("dialog.ask [aria-invalid]");
  assert.equal(tried.length, before, "what is no figure is not even tried");
  await close(page);
  await begin(page, "hold");
  await fill(page, {until: "another time"});
  await dialog(page)
      .locator("[data-asked=until] input[type=datetime-local]")
      .fill("2030-07-01T12:00");
  await page.waitForFunction(
      () => /Not possible/.test(document.querySelector("dialog.ask .would").textContent));
  assert.equal(tried.at(-1).until, "2030-07-01T11:00:00Z");
  assert.equal(await dialog(page).locator(".sure").isEnabled(), false, "a refusal is not sent");
}

/// On paper there is nothing to press.
async function paper(t) {
  const page = await t.open(`/bench/${t.asked.bench}`);
  await page.waitForSelector(".ask-for");
  await page.emulateMedia({media: "print"});
  const seen = await page.evaluate(
      () => [...document.querySelectorAll("button, .ask-row, .kept, dialog")]
                .filter((node) => node.offsetWidth)
                .map((node) => node.textContent));
  assert.deepEqual(seen, []);
}

/// Who may only read sees one line in place of all buttons.
async function reader(t) {
  const page = await t.open(`/bench/${t.asked.bench}`);
  await page.waitForSelector(".reading");
  assert.match(await page.textContent(".reading"), new RegExp(t.asked.says));
  assert.equal(await page.locator(".ask-for").count(), 0);
  assert.equal(await page.locator(".reading a").count(), t.asked.link ? 1 : 0);
  await accessible(page);
}

module.exports = {
  "asks-each-in-turn" : each,
  "asks-in-every-state" : states,
  "asks-by-keyboard" : keyboard,
  "asks-by-the-sites-clock" : by_the_sites_clock,
  "asks-nothing-on-paper" : paper,
  "asks-nothing-as-a-reader" : reader
};
