// The fields of a request as the table of kinds (/api/kinds) has them, and what a person put into
// them.
"use strict";
plainwater.askForm = (() => {
  const {el, write} = plainwater.dom, texts = plainwater.texts, time = plainwater.askTime;
  // What a request is about is never asked for again.
  const kFixed = new Set(["bench", "pump", "notice", "instead"]);
  /// Ids are the page's to give, not a person's.
  const byId = (f) => f.by_id || kFixed.has(f.name) || (f.name === "hold" && f.type === "text");
  const kLongest = 500;
  let made = 0;

  const labelOf = (field) => texts.ask.withUnit(field.label, field.unit);
  const labelled = (field) => (field.needed ? labelOf(field) : texts.ask.optional(labelOf(field)));

  /// A row of choices, one of them taken, as large as a thumb.
  function chips(legend, name, all, taken, change) {
    return el("fieldset", {class: "chips"}, el("legend", {}, legend), el("div", {}, all.map((c) => {
                const id = `${name}-${c.value}`;
                return el(
                    "span", {}, el("input", {
                      type: "radio",
                      name,
                      id,
                      value: c.value,
                      checked: c.value === taken,
                      onchange: () => change(c.value)
                    }),
                    el("label", {for: id
                    }, c.text));
              })));
  }
  /// An input that says beside it what is wrong with it.
  function line(name, label, input, wrong) {
    input.id = name;
    wrong.id = `${name}-wrong`;
    input.setAttribute("aria-describedby", wrong.id);
    return el("p", {class: "line"}, el("label", {for: name
              }, label), input, wrong);
  }
  const remark = () => el("span", {class: "wrong", role: "alert"});
  function complain(input, wrong, text) {
    write(wrong, text);
    if (text)
      input.setAttribute("aria-invalid", "true");
    else
      input.removeAttribute("aria-invalid");
    return text;
  }

  function timeField(field, name, {ask, bench, given, change}) {
    let all = time.choices(ask, field, bench), begin = null;
    const t = texts.ask.times;
    const preset = given === undefined ? null : Date.parse(given);
    const known = preset === null ? all.find((c) => c.usual) || (field.needed ? null : all[0])
                                  : all.find((c) => c.at === preset);
    let key = known ? known.key : preset !== null || !all.length ? "other" : null;
    const wrong = remark(), input = el("input", {type: "datetime-local", oninput: change});
    const start = preset ?? (known && known.at) ?? Date.parse(plainwater.live.heard());
    if (!Number.isNaN(start)) input.value = time.shown(start);
    const other = line(`${name}-at`, t.otherLabel(field.label), input, wrong);
    other.append(el("span", {class: "quiet"}, t.zone(plainwater.format.site().name)));
    const show = () => (other.hidden = key !== "other");
    const reveal = () => other.hidden || other.scrollIntoView({block: "nearest"});
    show();
    const offered = () => chips(
        field.label, name,
        [...all.map((c) => ({value: c.key, text: c.text})), {value: "other", text: t.other}], key,
        (value) => ((key = value), show(), reveal(), change()));
    // What is to be changed stands first.
    let row = offered();
    const node = el("div", {}, ask.instead ? [other, row] : [row, other]);
    /// Its days count from when it begins; what would end before that is not offered.
    function follow(at) {
      if (at === begin) return;
      begin = at;
      const keys = all.map((c) => c.key).join();
      all = time.choices(ask, field, bench, begin);
      if (all.map((c) => c.key).join() === keys) return;
      if (key !== "other" && !all.some((c) => c.key === key))
        key = (all.find((c) => c.usual) || all[0]).key;
      const made = offered();
      row.replaceWith(made);
      row = made;
      show();
    }
    const read = () => {
      if (key === null) return {missing: true};
      if (key !== "other") return {value: all.find((c) => c.key === key).at};
      if (!input.value)
        return field.needed ? {missing: true}
                            : {wrong: complain(input, wrong, texts.ask.wrong.time)};
      const at = time.parsed(input.value);
      if (at === null) return {wrong: complain(input, wrong, texts.ask.wrong.gap)};
      if (begin !== null && at <= begin)
        return {wrong: complain(input, wrong, texts.ask.wrong.end)};
      complain(input, wrong, "");
      return {value: at};
    };
    const sent = ({value, ...rest}) =>
        (plainwater.format.known(value) ? {value: time.sent(value)} : rest);
    return {node, follow, read: () => sent(read())};
  }

  /// A decimal comma is a point; anything else that is no figure is none.
  const figure = (text) =>
      (/^[-−]?\d+([.,]\d*)?$|^[-−]?[.,]\d+$/.test(text)
           ? Number(text.replace(",", ".").replace("−", "-"))
           : NaN);
  function numberField(field, name, {given, change}) {
    const start = given ?? field.usual, wrong = remark(), t = texts.ask.wrong;
    const input = el("input", {
      type: "text",
      inputmode: "decimal",
      autocomplete: "off",
      oninput: change,
      value: plainwater.format.known(start) ? plainwater.format.plain(start) : null
    });
    const read = () => {
      const text = input.value.trim();
      if (!text) return complain(input, wrong, ""), {missing: field.needed};
      const value = figure(text), {least, most} = field;
      const known = plainwater.format.known;
      const fault = Number.isNaN(value)                         ? t.number
          : known(least) && field.above_least && value <= least ? t.above(String(least))
          : known(least) && value < least                       ? t.least(String(least))
          : known(most) && value > most                         ? t.most(String(most))
                                                                : "";
      complain(input, wrong, fault);
      return fault ? {wrong: fault} : {value};
    };
    return {node: line(name, labelled(field), input, wrong), read};
  }

  function choiceField(field, name, {given, change}) {
    const taken = given ?? field.usual ?? null;
    let key = taken === null ? null : String(taken);
    const all = (field.choices || []).map((c) => ({value: String(c.value), text: c.label}));
    const node = chips(field.label, name, all, key, (value) => ((key = value), change()));
    return {node, read: () => (key === null ? {missing: field.needed} : {value: key})};
  }
  function flagField(field, name, {given, change}) {
    const input =
        el("input",
           {type: "checkbox", id: name, checked: Boolean(given ?? field.usual), onchange: change});
    // A flag that is not set is left out: that is what it means.
    return {
      node:
          el("p", {class: "flag"}, input,
             el("label",
                {for: name
                },
                field.label)),
      read: () => ({value: input.checked ? true : undefined})
    };
  }
  function textField(field, name, {given, change}) {
    const wrong = remark();
    const input = el("input", {
      type: "text",
      autocomplete: "off",
      maxlength: String(field.most || kLongest),
      oninput: change,
      value: given ?? field.usual ?? null
    });
    const read = () => {
      const text = input.value.trim();
      return text ? {value: text} : {missing: field.needed};
    };
    return {node: line(name, labelled(field), input, wrong), read};
  }
  const kMakers =
      {time: timeField, number: numberField, choice: choiceField, flag: flagField, text: textField};

  /// `given`: what the fields begin with, by name; `change`: called after each change.
  function make(kind, ask, {bench, given: more, change: tell}) {
    const form = ++made, given = {...ask, ...more};
    const change = () => (follow(), tell());
    const asked = kind.fields.filter((f) => kMakers[f.type] && !byId(f));
    const fields = asked.map(
        (f) => ({
          of: f,
          ...kMakers[f.type](f, `ask-${form}-${f.name}`, {ask, bench, given: given[f.name], change})
        }));
    const named = (name) => fields.find((f) => f.of.name === name && f.of.type === "time");
    function follow() {
      const from = named("from"), until = named("until"), begins = from && from.read().value;
      if (from && until) until.follow(begins ? Date.parse(begins) : null);
    }
    follow();
    const rest = Object.fromEntries(
        Object.entries(given).filter(([name]) => !asked.some((f) => f.name === name)));
    /// {body, missing: [labels], wrong}; the body is whole only when nothing is missing or wrong.
    function read() {
      const body = {...rest}, missing = [];
      let wrong = false;
      for (const field of fields) {
        const got = field.read();
        if (got.missing) missing.push(field.of.label);
        if (got.wrong) wrong = true;
        if (got.value !== undefined) body[field.of.name] = got.value;
      }
      return {body, missing, wrong};
    }
    /// Where something must still be said first.
    function focus() {
      const first = fields.find((f) => f.read().missing || f.read().wrong),
            input = first && first.node.querySelector("input:not([hidden])");
      if (input) input.focus();
      return Boolean(input);
    }
    const node =
        el("div", {class: "fields"},
           fields.map((f) => (f.node.setAttribute("data-asked", f.of.name), f.node)));
    return {node, read, focus};
  }
  return {make};
})();
