// The door: sends what was typed as no form of another page can, and says what the service answers.
"use strict";
(() => {
  const main = document.querySelector("main"), wrong = document.getElementById("wrong");

  function tell(text) {
    wrong.textContent = text;
    wrong.focus();
  }
  /// Only to a page of this service.
  function go(to) {
    location.replace(typeof to === "string" && /^\/(?![/\\])/.test(to) ? to : "/");
  }
  async function send(form) {
    const what = Object.fromEntries(new FormData(form));
    what.to = new URLSearchParams(location.search).get("to") || "/";
    const headers = {"Content-Type": "application/json", "Plainwater-Page": "1"};
    const answer = await fetch("/enter", {method: "POST", headers, body: JSON.stringify(what)})
                       .catch(() => null);
    const said = answer ? await answer.json().catch(() => ({})) : {};
    if (answer && answer.ok) return go(said.to);
    tell(said.detail || main.dataset.away);
  }
  for (const form of document.forms)
    form.addEventListener("submit", async (event) => {
      event.preventDefault();
      const button = form.querySelector("button");
      if (button.disabled) return;
      button.disabled = true;
      await send(form);
      button.disabled = false;
    });
  const first = document.querySelector("input");
  if (first) first.focus();
  document.body.dataset.ready = "yes";
})();
