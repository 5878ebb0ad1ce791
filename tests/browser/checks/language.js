// A house of another language: what stands on its pages, and where English is left.
"use strict";
const assert = require("node:assert");

/// Whatever a reader sees, hears or finds by pointing, hidden parts among it.
const everything = (page) => page.evaluate(() => {
  const texts = [["title", document.title], ...window.drawnTexts.map((text) => ["canvas", text])];
  const walker = document.createTreeWalker(document.documentElement, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const node = walker.currentNode, tag = node.parentElement.tagName;
    if (["SCRIPT", "STYLE"].includes(tag) || !node.data.trim()) continue;
    // A long name stands there in pieces, each whole.
    const piece = node.parentElement.matches(".whole"),
          text = piece ? node.parentElement.parentElement.textContent : node.data;
    texts.push([tag.toLowerCase(), text.replace(/<[^>]*>/g, " ").trim()]);
  }
  const kSpoken = [
    "title", "aria-label", "aria-valuetext", "aria-roledescription", "placeholder", "alt", "label"
  ];
  for (const name of kSpoken)
    for (const node of document.querySelectorAll(`[${name}]`))
      texts.push([name, node.getAttribute(name)]);
  return texts;
});
const kUnits = /°[CF]|\bkPa\b|\bmS\/cm\b|\bg\/m³|%RH|\bppm\b|\bm?L\b|\bEC\b|\bh\b|%\/K/g;
/// The words of plain letters in a text that are no names, units or times.
function english(text, names) {
  let rest = text.replace(/plainwater [a-z-]+(?: --?[a-z-]+)*/g, " ");  // to be typed
  for (const name of [...names].sort((a, b) => b.length - a.length))
    rest = rest.split(name).join(" ");
  return rest.replace(kUnits, " ").match(/(?<!\p{L})[A-Za-z]+(?!\p{L})/gu) || [];
}

/// What is drawn only when it is near, and what is folded away.
async function unfold(page) {
  await page.evaluate(async () => {
    const frame = () => new Promise((done) => requestAnimationFrame(done));
    for (const node of document.querySelectorAll("details")) node.open = true;
    for (let y = 0; y < document.documentElement.scrollHeight; y += innerHeight / 2) {
      scrollTo(0, y);
      await frame();
      await frame();
    }
  });
  const plots = page.locator("[role=slider]");
  for (let i = 0; i < (await plots.count()); ++i) {
    await plots.nth(i).focus();
    await page.keyboard.press("ArrowLeft");
  }
  await page.evaluate(() => new Promise((done) => setTimeout(done, 100)));
}
/// The dialog of a request, with its answer where it is sent.
async function ask(page, {request, send}) {
  const button = page.locator(`[data-request="${request}"]`).first();
  await button.waitFor({state: "attached"});
  if (!(await button.isVisible())) await page.locator("#asks summary").click();
  await button.click();
  await page.waitForSelector("dialog.ask .would");
  if (!send) return;
  await page.locator("dialog.ask .sure:enabled").click();
  await page.waitForSelector("dialog.ask[data-state=done]");
}
/// Canvases keep no words, so they are taken where they are drawn.
const listen = (page) => page.addInitScript(() => {
  window.drawnTexts = [];
  const draw = CanvasRenderingContext2D.prototype.fillText;
  CanvasRenderingContext2D.prototype.fillText = function(text, ...rest) {
    window.drawnTexts.push(String(text));
    return draw.call(this, text, ...rest);
  };
});

async function nothing_in_english(t) {
  const now = t.asked.names ? {benches: [], pumps: []} : await t.api("/api/now");
  const names = [
    ...(t.asked.names || []), ...(t.asked.settings || []),
    ...now.benches.flatMap((b) => [b.name, ...b.sensors.map((s) => s.name)]),
    ...now.pumps.map((p) => p.name),
    ...now.benches.map((b) => b.order?.dose)
        .flatMap((dose) => (dose ? [dose.recipe, dose.water] : [])),
    "plainwater", "tern-bank", "/api/now", "JavaScript", "JSON", "main", "0.1.0", "grower",
    "this machine's keeper"
  ];
  const prepare = async (page) => {
    await listen(page);
    if (t.asked.broken) await page.route(t.asked.broken, (route) => route.abort());
  };
  const page = await t.open(t.asked.path, {prepare, troubled: Boolean(t.asked.troubled)});
  if (t.asked.wait) await page.waitForSelector(t.asked.wait);
  if (t.asked.ask)
    await ask(page, t.asked.ask);
  else
    await unfold(page);
  const texts = await everything(page), left = [];
  for (const [where, text] of texts) {
    const words = english(text, names);
    if (words.length) left.push(`${where}: ${words.join(" ")} – in: ${text}`);
  }
  assert.ok(texts.length >= (t.asked.least || 20), `only ${texts.length} texts were found`);
  assert.ok(texts.filter(([, text]) => text.includes("⟦")).length >= 3, "the pages are translated");
  assert.deepEqual([...new Set(left)], []);
  assert.equal(await page.getAttribute("html", "lang"), "en-XA");
}

/// Whatever a translator's script does, the pages say in English what they must say.
async function english_under_a_faulty_one(t) {
  const page = await t.open("/");
  assert.match(await page.textContent("main"), /The plants run at/);
  assert.match(await page.textContent("footer"), new RegExp(t.asked.says));
  t.reader.complaints = t.reader.complaints.filter((c) => !/pages\.js|SyntaxError/.test(c));
}

module.exports = {
  "nothing-in-english" : nothing_in_english,
  "english-under-a-faulty-language" : english_under_a_faulty_one
};
