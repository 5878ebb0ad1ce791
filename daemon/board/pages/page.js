// What stands around every page: where one can go, whether what is shown is fresh, and who is
// spoken to.
"use strict";
plainwater.page = (() => {
  const {el} = plainwater.dom, texts = plainwater.texts, format = plainwater.format,
        live = plainwater.live;
  let spoken = null, quietUntil = 0, tellsNeeds = false;

  function troubles(now, away) {
    const when = live.heard() ? format.moment(live.heard()) : "";
    const list = [];
    if (away)
      list.push(when ? texts.trouble.away(when) : texts.trouble.awayFirst);
    else if (live.connected() && live.still())
      list.push(texts.trouble.still(when));
    if (!now || tellsNeeds) return list;
    if (now.service.store !== "healthy") list.push(texts.trouble.store(now.service.store));
    if (now.service.clock === "unsettled") list.push(texts.trouble.unsettled);
    if (now.service.backlog) list.push(texts.trouble.backlog);
    return list;
  }
  // A page that has just been opened, or a stream that blinks, is not worth a word.
  const kBlink = 1500;
  let awaySince = Date.now(), later = 0;
  function showState() {
    if (live.connected())
      awaySince = 0;
    else
      awaySince = awaySince || Date.now();
    clearTimeout(later);
    if (awaySince && Date.now() - awaySince < kBlink) later = setTimeout(showState, kBlink);
    const now = live.now(), node = document.querySelector(".notice"),
          list = troubles(now, awaySince && Date.now() - awaySince >= kBlink);
    if (node) {
      node.hidden = list.length === 0;
      const text = list.join("\n");
      if (node.dataset.said !== text)
        node.replaceChildren(...list.map((line) => el("span", {}, line)));
      node.dataset.said = text;
    }
    const foot = document.querySelector("[data-service]");
    const said = now && [
      ...texts.service(
          now.service, format.count(now.service.readings), format.moment(now.service.engine_time)),
      now.service.clock === "readings" && texts.trouble.readings, live.connected() && texts.live
    ];
    if (foot && said) foot.textContent = said.filter(Boolean).join(" · ");
    const site = document.querySelector(".site");
    if (site && now) site.textContent = now.site.name;
  }

  /// Says it to who cannot see it; not more often than one can listen.
  function announce(text) {
    if (!spoken) return;
    const wait = Math.max(0, quietUntil - Date.now());
    quietUntil = Date.now() + wait + 1500;
    if (wait < 8000) setTimeout(() => (spoken.textContent = text), wait);
  }

  /// Where it is said: within a dialog while one is open, since all else is not heard then.
  const speakIn = (node) => spoken && node.append(spoken);

  /// Wishes that were kept for a person are no other's to send.
  function forgetWishes() {
    const send = plainwater.askSend;
    if (send) [...send.kept()].forEach((wish) => send.forget(wish.body.id));
    try {
      sessionStorage.removeItem("plainwater.wishes");  // also where this page asks for nothing
    } catch {
      // As below.
    }
  }
  /// Who is signed in in this browser, for the door (enter.js); and whose the wishes of this tab
  /// are, which outlast a session that has run out.
  function remember(name) {
    const kPerson = "plainwater.person";
    try {
      if (name === null) return localStorage.removeItem(kPerson);
      localStorage.setItem(kPerson, name);
      const before = sessionStorage.getItem(kPerson);
      sessionStorage.setItem(kPerson, name);
      if (before !== null && before !== name) forgetWishes();
    } catch {
      // A browser that keeps nothing has kept no wish either.
    }
  }

  /// In the page's head: who is signed in, and the way in or out.
  async function showWho() {
    const node = document.querySelector("[data-who]"),
          me = await live.read("/api/me").catch(() => 0);
    if (!node || !me) return;
    const to = `/enter?to=${encodeURIComponent(location.pathname)}`;
    const enter = () => el("a", {href: to}, texts.signIn);
    const leave = () => el("button", {type: "button", onclick: signOut}, texts.signOut);
    const inside = me.way === "person";
    remember(inside ? me.name : null);
    node.replaceChildren(
        ...(inside               ? [el("a", {href: "/enter"}, me.name), " ", leave()]
                : me.may_sign_in ? [enter()]
                                 : []));
    node.hidden = !node.firstChild;
  }
  async function signOut() {
    const headers = {"Content-Type": "application/json", "Plainwater-Page": "1"};
    const answer =
        await fetch("/api/sign-out", {method: "POST", headers, body: "{}"}).catch(() => null);
    if (answer && (answer.ok || answer.status === 401)) {
      forgetWishes();
      remember(null);
      return location.reload();
    }
    const node = document.querySelector("[data-who]");
    for (const before of node.querySelectorAll("[role=alert]")) before.remove();
    node.append(" ", el("span", {role: "alert"}, node.dataset.failed));
  }

  /// `needs`: the page itself tells what needs a person, the store and the clock among it.
  function start({needs = false} = {}) {
    tellsNeeds = needs;
    spoken = document.body.appendChild(
        el("div", {class: "hidden", "aria-live": "polite", role: "status"}));
    live.on("now", showState);
    live.on("house", showState);
    live.on("connection", showState);
    live.start();
    showWho();
  }
  /// What could not be read, in place of what was to stand there.
  const failure = (error) =>
      el("p", {class: "loading", role: "alert"}, texts.failed(error && error.message));

  /// Since when something needs a person, and who knows.
  function needKnown(need) {
    const parts = [
      need.since && texts.until.since(format.moment(need.since)),
      need.acknowledged_by && texts.acknowledged(need.acknowledged_by)
    ].filter(Boolean);
    return parts.length ? [el("p", {class: "known"}, `${parts.join(", ")}.`)] : [];
  }

  return {start, announce, speakIn, failure, needKnown};
})();
