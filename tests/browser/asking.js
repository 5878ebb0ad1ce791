// A person who asks by a page: finds the button, fills the dialog in, reads what would change, and
// only then sends it.
"use strict";
const assert = require("node:assert");

const kSizes = {
  phone: {width: 360, height: 740, touch: true},
  desk: {width: 1440, height: 900}
};
const dialog = (page) => page.locator("dialog.ask[open]");
/// Waits until the dialog has come into this state, and gives what it says there.
async function state(page, name) {
  await page.waitForSelector(`dialog.ask[open][data-state="${name}"]`);
  return (await dialog(page).textContent()).trim();
}
/// Opens the dialog by its button, within `part` of the page.
async function begin(page, request, part = "#asks") {
  const button = page.locator(`${part} [data-request="${request}"]`).first();
  await button.waitFor({state: "attached"});
  if (!(await button.isVisible())) await page.locator(`${part} summary`).click();
  await button.click();
  await state(page, "form");
}
/// Puts values into its fields: a text, or for times and choices the words of what is offered.
async function fill(page, fields = {}) {
  for (const [name, value] of Object.entries(fields)) {
    const field = dialog(page).locator(`[data-asked="${name}"]`);
    if (await field.locator(".chips label, legend").count())
      await field.locator("label", {hasText: new RegExp(`^${value}$`)}).click();
    else
      await field.locator("input").fill(value);
  }
}
/// What would change, once the page knows it and would send it.
async function would(page) {
  const flow = dialog(page).locator("#ask-sure");
  if (await flow.count()) {
    await page.waitForFunction(
        () => /\.$/.test(document.querySelector("dialog.ask .would").textContent));
    assert.equal(await dialog(page).locator(".sure").isEnabled(), false, "one tap arms nothing");
    await flow.check();
  }
  await dialog(page).locator(".sure:enabled").waitFor();
  const said = (await dialog(page).locator(".would").textContent()).trim();
  assert.match(said, /\w.*[.?]$/, `a sentence: "${said}"`);
  return said;
}
const confirm = (page) => dialog(page).locator(".sure").click();
const press = (page, name) => dialog(page).getByRole("button", {name}).click();
async function close(page) {
  await page.keyboard.press("Escape");
  await page.waitForSelector("dialog.ask", {state: "detached"});
}
/// Requests to change something that this page has sent so far.
function watch(page) {
  const sent = [];
  page.on("request", (request) => {
    if (request.method() === "POST" && new URL(request.url()).pathname === "/api/requests")
      sent.push(JSON.parse(request.postData()));
  });
  return sent;
}

module.exports = {
  kSizes,
  dialog,
  state,
  begin,
  fill,
  would,
  confirm,
  press,
  close,
  watch
};
