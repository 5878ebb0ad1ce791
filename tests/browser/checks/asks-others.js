// Two people at one bench; and pages of others, which may ask for nothing.
"use strict";
const assert = require("node:assert");
const http = require("node:http");
const {kSizes, dialog, state, begin, fill, would, confirm, watch} = require("../asking");

/// Both look at the same bench; when one has held it, the other reads what would change now.
async function two(t) {
  const at = `/bench/${t.asked.bench}`;
  const [one, other] = [await t.open(at, kSizes.phone), await t.open(at, kSizes.phone)];
  for (const page of [one, other])
    await page.waitForFunction(() => document.body.dataset.live === "yes");
  await begin(other, "hold");
  await fill(other, {until: "1 week"});
  const before = await would(other);
  await begin(one, "hold");
  await fill(one, {until: "4 weeks"});
  await would(one);
  await confirm(one);
  await state(one, "done");
  await other.waitForFunction((said) => {
    const now = document.querySelector("dialog.ask .would").textContent.trim();
    return now !== said && !document.querySelector("dialog.ask .sure").disabled;
  }, before);
  const after = await would(other);
  assert.notEqual(after, before, "the sentence follows what the other did");
  await confirm(other);
  await state(other, "done");
  t.say("both", {before, after, text: await dialog(other).locator(".answer").textContent()});
}

/// What a page can try on another origin: read and write by script, as a plain form, by an image.
const kPage = (target) => `<!DOCTYPE html><meta charset="utf-8"><title>another</title>
<link rel="icon" href="data:,">
<form method="post" action="${target}/api/requests" enctype="text/plain" target="hidden">
<input name='{"id":"by-form","request":"hold","bench":"long","note":"' value='"}'></form>
<iframe name="hidden"></iframe>`;
const attacks = async (target) => {
  const body = (id) => JSON.stringify({id, request: "hold", bench: "long"});
  const url = `${target}/api/requests`, outcomes = {};
  const attempt = async (name, call) => {
    try {
      const answer = await call();
      outcomes[name] = `${answer.type} ${answer.status}`;
    } catch (error) { outcomes[name] = "failed"; }
  };
  const json = {"Content-Type": "application/json"};
  await attempt("json", () => fetch(url, {
                          method: "POST",
                          credentials: "include",
                          headers: {...json, "Plainwater-Page": "1"},
                          body: body("by-json")
                        }));
  await attempt(
      "no header",
      () => fetch(
          url,
          {method: "POST", credentials: "include", headers: json, body: body("by-no-header")}));
  await attempt(
      "plain",
      () => fetch(
          url, {method: "POST", mode: "no-cors", credentials: "include", body: body("by-plain")}));
  await attempt("beacon", async () => {
    navigator.sendBeacon(url, body("by-beacon"));
    return {type: "sent", status: 0};
  });
  await attempt("read", () => fetch(`${target}/api/me`, {credentials: "include"}));
  await new Promise((done) => {
    const image = new Image();
    image.onload = image.onerror = done;
    image.src = `${url}?id=by-image&request=hold&bench=long`;
  });
  await new Promise((done) => {
    document.querySelector("iframe").addEventListener("load", done, {once: true});
    setTimeout(done, 5000);  // a frame that is refused may say nothing
    document.querySelector("form").submit();
  });
  return outcomes;
};

/// Of the same machine by another port, so that cookies go along, and of another site.
async function another(t) {
  const mine = await t.open(`/bench/${t.asked.bench}`);
  await mine.waitForSelector("#asks .ask-for");
  const server = http.createServer((request, answer) => {
    answer.writeHead(200, {"Content-Type": "text/html; charset=utf-8"});
    answer.end(kPage(t.base));
  });
  await new Promise((done) => server.listen(0, "127.0.0.1", done));
  const tried = {};
  try {
    for (const host of ["127.0.0.1", "localhost"]) {
      const page = await mine.context().newPage(), answers = [];
      page.on(
          "response",
          (answer) => answer.url().startsWith(`${t.base}/api/requests`) &&
              answers.push([answer.request().method(), answer.status()]));
      await page.goto(`http://${host}:${server.address().port}/`);
      const outcomes = await page.evaluate(attacks, t.base);
      tried[host] = {outcomes, answers};
      for (const [name, outcome] of Object.entries(outcomes))
        assert.match(outcome, /^(failed|opaque 0|sent 0)$/, `${name}: nothing can be read`);
      assert.ok(answers.length >= 1, `some of it reached the service: ${JSON.stringify(answers)}`);
      for (const [method, status] of answers)
        assert.ok(status >= 400 && status < 500, `${method} ${status}`);
      await page.close();
    }
  } finally { server.close(); }
  t.say("tried", tried);
  assert.equal(await t.heard(), "counted");
  // The house's own page may, all the same.
  await begin(mine, "hold");
  await would(mine);
  await confirm(mine);
  await state(mine, "done");
}

module.exports = {
  "asks-by-two-at-once" : two,
  "asks-from-another-origin" : another
};
