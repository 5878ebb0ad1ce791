// Who asks, what may be asked, and the way of a request to the service: sent only when a person
// says so, with an id that stays the same, so that sending it again changes nothing twice.
"use strict";
plainwater.askSend = (() => {
  const live = plainwater.live;
  const kPatience = 10000, kRoles = ["look", "care", "keeper"], kKept = "plainwater.wishes";
  let who = null, kinds = new Map(), reading = null, hearers = [];

  /// Once a page, and again after signing in.
  function me(anew = false) {
    if (anew) reading = null;
    reading = reading || new Promise((done) => {
                const ask = async () => {
                  try {
                    const [person, table] =
                        await Promise.all([live.read("/api/me"), live.read("/api/kinds")]);
                    kinds = new Map(table.kinds.map((kind) => [kind.request, kind]));
                    who = person;
                    done(who);
                    hearers.forEach((call) => call(who));
                  } catch { live.later(ask); }
                };
                ask();
              });
    return reading;
  }
  const kind = (request) => kinds.get(request);
  const may = (of) =>
      Boolean(who && of && kRoles.indexOf(who.role) >= Math.max(1, kRoles.indexOf(of.role)));

  /// Not by crypto.randomUUID, which is missing where there is no TLS.
  const newId = () => `page-${
          [...crypto.getRandomValues(new Uint8Array(12))]
              .map((b) => b.toString(16).padStart(2, "0"))
              .join("")}`;

  function outcomeOf(status, said, retry) {
    const detail = (said && said.detail) || "";
    if (status === 401 || status === 403) return {outcome: "who", detail};
    if (status === 429) return {outcome: "often", detail, seconds: Number(retry) || 0};
    // Of our own making: nothing has changed. A proxy's has no problem in it, and tells nothing.
    if (status === 503) return {outcome: detail ? "busy" : "unknown", detail};
    return {outcome: status >= 400 && status < 500 ? "refused" : "unknown", detail};
  }
  /// {outcome: "answered", said} or what else came of it: unknown (it may have arrived), busy,
  /// often, who, refused.
  async function post(path, body) {
    try {
      const answer = await fetch(path, {
        method: "POST",
        headers: {
          Accept: "application/json",
          "Content-Type": "application/json",
          "Plainwater-Page": "1"
        },
        body: JSON.stringify(body),
        cache: "no-store",
        redirect: "error",
        signal: AbortSignal.timeout(kPatience)
      });
      const said = await answer.json().catch(() => null);
      if (answer.ok && said && typeof said.done === "boolean") return {outcome: "answered", said};
      return outcomeOf(answer.ok ? 0 : answer.status, said, answer.headers.get("Retry-After"));
    } catch {
      // What the browser believes of its network is no proof: the service may be reached all the
      // same.
      return {outcome: "unknown"};
    }
  }

  // Wishes whose answer is not known, in this tab and over a reload of its page:
  // [{body, label, what, state}].
  let kept = [];
  try {
    kept = JSON.parse(sessionStorage.getItem(kKept)) || [];
  } catch {
    // A browser that keeps nothing keeps it while the page lasts.
  }
  function store() {
    try {
      sessionStorage.setItem(kKept, JSON.stringify(kept));
    } catch {
      // As above.
    }
    keptHearers.forEach((call) => call(kept));
  }
  const keptHearers = [];
  function keep(wish) {
    kept = [...kept.filter((k) => k.body.id !== wish.body.id), wish];
    store();
  }
  function forget(id) {
    kept = kept.filter((k) => k.body.id !== id);
    store();
  }

  return {
    me,
    kind,
    kinds: () => [...kinds.values()],
    may,
    newId,
    post,
    keep,
    forget,
    kept: () => kept,
    who: () => who,
    onWho: (call) => (hearers.push(call), who && call(who)),
    onKept: (call) => (keptHearers.push(call), call(kept))
  };
})();
