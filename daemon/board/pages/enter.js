// The door: sends what was typed as no form of another page can, and says what the service answers.
// Whoever is signed in sees where else, and can end it.
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
  async function post(path, what) {
    const headers = {"Content-Type": "application/json", "Plainwater-Page": "1"};
    const answer =
        await fetch(path, {method: "POST", headers, body: JSON.stringify(what)}).catch(() => null);
    return {answer, said: answer ? await answer.json().catch(() => ({})) : {}};
  }
  async function send(form) {
    const what = Object.fromEntries(new FormData(form));
    what.to = new URLSearchParams(location.search).get("to") || "/";
    const {answer, said} = await post("/enter", what);
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

  const place = document.getElementById("sessions"), list = place.querySelector("ul"),
        ended = document.getElementById("ended"), words = place.dataset;
  // The house's clocks are not known here: the browser's are.
  const moment = (time) => new Date(time).toLocaleString(
      document.documentElement.lang, {dateStyle: "medium", timeStyle: "short"});
  function line(text, kind) {
    const node = document.createElement("span");
    node.textContent = text;
    if (kind) node.className = kind;
    return node;
  }
  async function end(session, whose, row) {
    const button = row.querySelector("button");
    if (button.disabled) return;
    button.disabled = true;
    const {answer, said} = await post("/api/sessions/end", {id: session.id});
    button.disabled = false;
    // One that has ended already is what was wanted.
    if (!answer || !(answer.ok || answer.status === 404))
      return tell(said.detail || main.dataset.away);
    if (session.this) {
      forget();
      return location.reload();
    }
    row.remove();
    ended.textContent = `${words.ended} ${whose}`;
    ended.focus();
  }
  function row(session) {
    const node = document.createElement("li"), button = document.createElement("button");
    const whose = `${session.person}, ${session.this ? words.this : session.browser}`;
    button.type = "button";
    button.textContent = words.end;
    button.setAttribute("aria-label", `${words.end}: ${whose}`);
    button.addEventListener("click", () => end(session, whose, node));
    node.append(
        line(whose), line(`${words.begun} ${moment(session.begun)}`, "quiet"),
        line(`${words.seen} ${moment(session.seen)}`, "quiet"),
        line(`${words.from} ${session.address}`, "quiet"), button);
    return node;
  }
  /// What this browser keeps for who was signed in: see page.js.
  const kPerson = "plainwater.person", kWishes = "plainwater.wishes";
  function forget() {
    try {
      sessionStorage.removeItem(kWishes);
      localStorage.removeItem(kPerson);
    } catch {
      // A browser that keeps nothing has nothing to forget.
    }
  }
  function seemsSignedIn() {
    try {
      return localStorage.getItem(kPerson) !== null;
    } catch { return false; }
  }
  async function showSessions() {
    const answer = await fetch("/api/sessions", {cache: "no-store"}).catch(() => null);
    const said = answer && answer.ok ? await answer.json().catch(() => null) : null;
    if (!said) return false;
    // The own one first, then the last used.
    const all = [...said.sessions].sort((a, b) => Number(b.this) - Number(a.this));
    list.replaceChildren(...all.map(row));
    place.hidden = all.length === 0;
    return all.length > 0;
  }
  async function begin() {
    const first = document.querySelector("input");
    if (!(seemsSignedIn() && await showSessions()) && first) first.focus();
  }
  begin();
  document.body.dataset.ready = "yes";
})();
