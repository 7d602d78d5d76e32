"use strict";
// The cards of the field page: one at a time, large, for gloves. Each returns its nodes.
(() => {
  const { state } = Field;
  const h = (tag, given = {}, ...children) => {
    const node = document.createElement(tag);
    for (const [name, value] of Object.entries(given)) {
      if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
      else if (name === "class") node.className = value;
      else if (value === true) node.setAttribute(name, "");
      else if (value !== false && value !== null && value !== undefined) node.setAttribute(name, value);
    }
    node.append(...children.flat(Infinity).filter((child) => child !== null && child !== undefined));
    return node;
  };
  Field.h = h;
  const button = (words, act, more = {}) => h("button", { type: "button", onclick: act, ...more }, words);
  const choice = (...buttons) => h("div", { class: "choice" }, buttons);
  const go = (view) => Field.show(view);
  const initials = () => {
    const { entered, read } = state.names;
    const short = (name) => name.split(/\s+/).filter(Boolean).map((word) => word[0]).join("").toUpperCase();
    return [...new Set([short(entered), short(read)].filter(Boolean))];
  };
  Field.initials = initials;

  // ---------------------------------------------------------------- one reading
  const numberBox = (asked, draft, changed) => {
    const label = `read-${asked.name}`;
    const front = h("span", { class: "front" });
    const told = () => {
      const si = Field.toSi(box.value, asked.kind);
      const at = asked.name === "cable" && si !== null ? Field.front(si) : null;
      front.textContent = at === null ? "" : ` front at ${Field.shown(at, "length")}`;
    };
    const box = h("input", {
      id: label, inputmode: "none", autocomplete: "off", class: "num", value: Field.draft(draft),
      oninput: () => { Field.draft(draft, box.value); told(); },
      onblur: () => changed(),
      "data-kind": asked.kind, "data-name": asked.name,
    });
    const limits = asked.window ? asked.window.limits : "";
    const mark = asked.window && asked.window.mark !== null
      ? `mark ${Field.shown(asked.window.mark, asked.kind)}; ` : "";
    told();
    return h("div", { class: "read" },
      h("label", { for: label }, asked.words,
        h("small", {}, mark + limits, front, asked.required ? "" : " (if read)")),
      box, h("span", { class: "unit" }, state.plan.kinds[asked.kind].shown));
  };

  const wordBox = (asked, draft) => {
    const label = `read-${asked.name}`;
    if (asked.choices.length) {
      const pick = asked.choices.map((word) => button(word, (event) => {
        Field.draft(draft, Field.draft(draft) === word ? "" : word);
        for (const one of event.target.parentNode.children) {
          one.setAttribute("aria-pressed", String(one.textContent === Field.draft(draft)));
        }
      }, { "aria-pressed": String(Field.draft(draft) === word) }));
      return h("div", { class: "read words", role: "group", "aria-label": asked.words },
        h("span", {}, asked.words), h("div", { class: "pick" }, pick));
    }
    const box = h("input", {
      id: label, autocomplete: "off", value: Field.draft(draft),
      oninput: () => Field.draft(draft, box.value),
    });
    return h("div", { class: "read words" },
      h("label", { for: label }, asked.words, asked.required ? "" : h("small", {}, "(if known)")), box);
  };

  // ---------------------------------------------------------------- a form of readings
  // keeps what is typed as drafts; hands over values, words and what is outside its window
  const form = (name, readings, ratio, act) => {
    const warn = h("div", { class: "warns", "aria-live": "assertive" });
    const draft = (asked) => `${Field.now().number} ${name} ${asked.name}`;
    const collect = () => {
      const values = [], words = {}, wrong = [], missing = [], bad = [];
      for (const asked of readings) {
        const typed = Field.draft(draft(asked));
        if (!typed.trim()) {
          if (asked.required) missing.push(asked);
        } else if (!asked.kind) words[asked.name] = typed.trim();
        else {
          const value = Field.valueOf(asked, typed);
          if (value.value === null) bad.push(asked);
          else {
            values.push(value);
            const found = Field.check(asked.window, value.value);
            if (found) wrong.push({ ...found, values: [value] });
          }
        }
      }
      const ratioWrong = Field.checkRatio(ratio, values);
      if (ratioWrong) {
        const parts = values.filter((one) => [ratio.over, ratio.under].includes(one.name));
        wrong.push({ ...ratioWrong, values: parts });
      }
      return { values, words, wrong, missing, bad };
    };
    const clear = (names) => readings
      .filter((asked) => !names || names.includes(asked.name))
      .forEach((asked) => Field.draft(draft(asked), ""));
    let asked = ""; // what the question on the screen is about; it is not put anew under a finger
    const ask = (found, keep) => {
      const mark = JSON.stringify(found.wrong.map((one) => [one.heading, one.values]));
      if (mark === asked && warn.querySelector(".choice")) return;
      asked = mark;
      const names = found.wrong.flatMap((one) => one.values.map((value) => value.name));
      const first = found.wrong[0];
      const note = (words) => {
        const values = found.values.filter((one) => names.includes(one.name));
        const question = found.wrong.map((one) => one.question).join("; ");
        Field.emit("reading", { step: act.step, values, question, reason: words });
        clear(names);
        Field.show(state.view, names[0]);
      };
      const second = h("div", {});
      warn.replaceChildren(
        ...found.wrong.map((one) => h("div", { class: "warn" }, h("b", {}, one.heading), ` ${one.meaning}`)),
        choice(
          button(first.again, () => note(first.again)),
          button(first.hold, () => note(first.hold)),
          button("trouble cards", () => { note("trouble cards"); go("cards"); }),
          button("keep this reading (twice, initials)", () => {
            const taken = performance.now();
            second.replaceChildren(
              h("p", { class: "ask" }, "Second touch: who keeps it? It stays in the record with these initials."),
              choice(...initials().map((who) => button(`${who} keeps it`, () => {
                if (performance.now() - taken > 500) keep(who); // not the same touch twice
              })), button("no, back", () => second.replaceChildren(), { "data-no": true })));
            second.querySelector("button").focus();
          })),
        second);
      warn.scrollIntoView({ block: "nearest" });
    };
    let passed = false, kept = null;
    const same = (found) => kept !== null && kept.values === JSON.stringify(found.wrong.map((one) => one.values));
    const keep = (who) => {
      kept = { who, values: JSON.stringify(collect().wrong.map((one) => one.values)) };
      finish();
    };
    const finish = () => {
      const found = collect();
      const missing = found.missing.map((one) => one.words).join(", ");
      if (found.bad.length) {
        warn.replaceChildren(h("div", { class: "warn" }, h("b", {}, "Not a number: "),
          found.bad.map((one) => one.words).join(", ")));
      } else if (found.wrong.length && !same(found)) {
        ask(found, keep);
      } else if (missing && !passed) {
        passed = true;
        warn.replaceChildren(h("div", { class: "warn" }, h("b", {}, "Still missing: "), missing,
          ". Touch again to go on without; it is noted as not read."));
      } else {
        act.done({ ...found, reason: missing ? `not read: ${missing}` : "" });
        for (const one of found.wrong) {
          Field.emit("kept", {
            step: act.step, values: one.values, question: one.question, initials: kept.who,
            reason: `${one.heading} Kept.`,
          });
        }
        clear();
        act.after();
      }
    };
    const changed = () => {
      const found = collect();
      if (found.wrong.length && !same(found)) ask(found, keep);
      else if (!found.wrong.length && !passed) warn.replaceChildren();
    };
    const rows = readings.map((asked) =>
      (asked.kind ? numberBox(asked, draft(asked), changed) : wordBox(asked, draft(asked))));
    const keys = readings.some((asked) => asked.kind) ? Field.keypad() : null;
    return { nodes: [...rows, warn, keys], finish };
  };

  // ---------------------------------------------------------------- a step
  Field.stepCard = (step, now) => {
    const correcting = state.correcting;
    const made = form(step.key, step.readings, step.ratio, {
      step: step.key,
      done: ({ values, words, reason }) => Field.emit("step", {
        step: step.key, values, words, reason,
        ...(correcting ? { corrects: correcting.id, at: correcting.at, attempt: correcting.attempt } : {}),
      }),
      after: () => { state.correcting = null; go("step"); },
    });
    const due = Field.deadlines(state.plan, now.events, Date.now()).find((one) => one.key === step.deadline);
    return [
      h("h2", { tabindex: "-1" }, step.words),
      correcting ? h("p", { class: "ask" }, "Correcting the entry of ",
        Field.clockText(Date.parse(correcting.at), state.plan.project.zone), "; the first one stays in the record.") : null,
      step.caution ? h("p", { class: "caution" }, step.caution) : null,
      due ? h("p", {}, h("b", {}, `${due.words} ${Field.clockText(due.at, state.plan.project.zone, Date.now())}`)) : null,
      ...made.nodes,
      h("div", { class: "choice main" },
        button("done", made.finish, { "data-yes": true, class: "do" }),
        button("not done, skip", () => go(`skip ${step.key}`), { "data-no": true })),
    ];
  };

  Field.skipCard = (step) => {
    const name = `skip ${step.key}`;
    const give = (reason) => {
      if (!reason.trim()) return;
      Field.emit("skip", { step: step.key, reason: reason.trim() });
      Field.draft(name, "");
      go("step");
    };
    const box = h("input", { id: "reason", value: Field.draft(name), oninput: () => Field.draft(name, box.value) });
    const usual = ["not on this job", "done before, same crew", "can’t be done here, superintendent told"];
    return [
      h("h2", { tabindex: "-1" }, `Skip: ${step.words}`),
      h("p", {}, "A step is skipped only with a reason. It stands in the daily report."),
      choice(...usual.map((words) => button(words, () => give(words)))),
      h("div", { class: "read words" }, h("label", { for: "reason" }, "Other reason"), box),
      choice(button("skip for this reason", () => give(box.value)), button("back", () => go("step"), { "data-no": true })),
    ];
  };

  // ---------------------------------------------------------------- go/no-go
  Field.goCard = (now) => {
    const answers = new Map();
    for (const one of now.events) if (one.kind === "check") answers.set(one.question, one);
    const { sheet } = state.plan;
    const lines = state.plan.go_no_go.map((line) => {
      const given = answers.get(line);
      const say = (answer) => { Field.emit("check", { question: line, answer }); go("step"); };
      return h("div", { class: "read go" }, h("span", {}, line),
        h("div", { class: "pick", role: "group", "aria-label": line },
          button("yes", () => say("yes"), { "aria-pressed": String(Boolean(given && given.answer === "yes")) }),
          button("no", () => say("no"), { "aria-pressed": String(Boolean(given && given.answer === "no")) })));
    });
    const open = state.plan.go_no_go.filter((line) => !answers.has(line));
    const no = state.plan.go_no_go.filter((line) => (answers.get(line) || {}).answer === "no");
    const against = sheet.outcome === "line" ? [] : [`The work sheet says “${sheet.outcome}”.`, ...sheet.reasons];
    const box = h("input", { id: "override", value: Field.draft("override"), oninput: () => Field.draft("override", box.value) });
    const told = h("p", { class: "ask", role: "status" });
    const release = () => {
      if (open.length) told.textContent = `Not answered yet: ${open[0]}`;
      else if ((no.length || against.length) && !box.value.trim()) {
        told.textContent = "Released against a “no” only with a reason, by name.";
        box.focus();
      } else {
        Field.emit("release", {
          answer: "yes", reason: box.value.trim(), initials: initials()[0], question: no.join("; "),
        });
        Field.draft("override", "");
        go("step");
      }
    };
    return [
      h("h2", { tabindex: "-1" }, "Go / no-go before mixing"),
      h("p", {}, "Every line needs a yes from a person. The mix ticket is released by it."),
      against.length ? h("div", { class: "warn" }, h("b", {}, against[0]), ` ${against.slice(1).join(" ")}`) : null,
      ...lines,
      no.length || against.length ? h("div", { class: "read words" },
        h("label", { for: "override" }, "Reason to mix all the same"), box) : null,
      told,
      h("div", { class: "choice main" },
        button(`release mixing: ${state.names.entered}`, release, { "data-yes": true, class: "do" }),
        button("trouble cards", () => go("cards"))),
    ];
  };

  // ---------------------------------------------------------------- readings between steps
  const BEFORE = ["cable", "tube_pressure", "bladder_pressure"];
  const HOT = ["tube_pressure", "gas_temperature", "exhaust_temperature", "wall_top", "wall_bottom"];
  const COLD = ["tube_pressure", "wall_top", "wall_bottom"];
  Field.readCard = (now) => {
    const has = (step) => now.steps.has(step);
    const names = has("steam_shut") ? COLD : has("steam_on") ? HOT : has("inversion") ? BEFORE : ["liner_temperature", ...BEFORE.slice(2)];
    const last = [...state.plan.steps].reverse().find((step) => now.steps.has(step.key));
    const own = new Map((last ? last.readings : []).map((one) => [one.name, one]));
    const any = new Map(state.plan.steps.flatMap((step) => step.readings).map((one) => [one.name, one]));
    const readings = names.filter((name) => any.has(name)).map((name) => {
      const window = own.has(name) ? own.get(name).window : null;
      const moving = name === "cable" ? null : window; // a mark holds at its step only
      return { ...any.get(name), window: moving, required: false };
    });
    const step = last ? last.key : "";
    const made = form("reading", readings, null, {
      step,
      done: ({ values, words }) => { if (values.length) Field.emit("reading", { step, values, words }); },
      after: () => go("step"),
    });
    return [
      h("h2", { tabindex: "-1" }, "Reading"),
      h("p", {}, "Under steam every 5 min, and at every change."),
      ...made.nodes,
      h("div", { class: "choice main" }, button("enter", made.finish, { "data-yes": true, class: "do" }),
        button("back", () => go("step"), { "data-no": true })),
    ];
  };

  // ---------------------------------------------------------------- trouble cards
  Field.cardsCard = (now) => {
    const key = now.current ? now.current.key : "";
    const last = [...now.steps.keys()].pop();
    const here = (one) => one.card.steps.includes(key) || one.card.steps.includes(last);
    const cards = state.plan.cards.map((one) => ({ ...one, here: here(one) }));
    cards.sort((a, b) => (a.card.key === "people" ? -1 : b.card.key === "people" ? 1 : b.here - a.here));
    return [
      h("h2", { tabindex: "-1" }, "Trouble cards"),
      h("div", { class: "choice" }, cards.map((one) => button(one.card.title, () => go(`trouble ${one.card.key}`)))),
      h("div", { class: "choice main" }, button("back", () => go("step"), { "data-no": true })),
    ];
  };

  Field.troubleCard = (live, now) => {
    const list = (words) => h("ul", {}, words.map((one) => h("li", {}, one)));
    const at = Date.now(), { zone } = state.plan.project;
    const clocks = Field.deadlines(state.plan, now.events, at)
      .filter((one) => live.card.clocks.includes(one.key));
    const name = `trouble ${live.card.key}`;
    const box = h("textarea", { id: "did", rows: 3, oninput: () => Field.draft(name, box.value) });
    box.value = Field.draft(name);
    return [
      h("h2", { tabindex: "-1" }, live.card.title),
      h("div", { class: "warn" }, list(live.card.cautions)),
      h("h3", {}, "First"), list(live.card.first),
      clocks.length || live.numbers.length ? h("h3", {}, "What the clock and the sheet allow now") : null,
      h("dl", { class: "live", "data-clocks": live.card.clocks.join(" ") },
        clocks.map((one) => [h("dt", {}, one.words), h("dd", { "data-clock": one.key },
          `${Field.clockText(one.at, zone, at)} (${one.at < at ? "passed " : "in "}${Field.spanText(one.at - at)})`)]),
        live.numbers.map(([label, text]) => [h("dt", {}, label), h("dd", {}, text)])),
      h("h3", {}, "Write down"), list(live.card.record),
      h("label", { for: "did" }, "What was seen and done"), box,
      h("div", { class: "choice main" },
        button("enter", () => {
          if (!box.value.trim()) return;
          Field.emit("remark", { reason: `${live.card.title}: ${box.value.trim()}`, step: now.current ? now.current.key : "" });
          Field.draft(name, "");
          go("step");
        }, { "data-yes": true, class: "do" }),
        button("end this attempt", () => go("end")),
        button("back", () => go("cards"), { "data-no": true })),
    ];
  };

  // ---------------------------------------------------------------- end of an attempt
  Field.endCard = (now) => {
    const field = (name, words, more = {}) => {
      const box = h("input", { id: name, value: Field.draft(`end ${name}`), oninput: () => Field.draft(`end ${name}`, box.value), ...more });
      return h("div", { class: "read words" }, h("label", { for: name }, words), box);
    };
    const told = h("p", { class: "ask", role: "status" });
    const get = (name) => Field.draft(`end ${name}`).trim();
    const finish = (answer) => {
      if (answer !== "cured" && !get("cause")) {
        told.textContent = "An attempt that did not cure needs its cause.";
        return;
      }
      const words = {};
      for (const name of ["material_lost", "left", "payer"]) if (get(name)) words[name] = get(name);
      const hours = Number(get("hours"));
      const values = get("hours") && hours >= 0
        ? [{ name: "crew_time", value: hours * 3600, kind: "time", typed: `${get("hours")} h` }] : [];
      Field.emit("end", { answer, reason: get("cause"), words, values, initials: initials()[0] });
      for (const name of ["cause", "material_lost", "left", "payer", "hours"]) Field.draft(`end ${name}`, "");
      state.next = 0;
      go("step");
    };
    return [
      h("h2", { tabindex: "-1" }, `How did attempt ${now.number} end?`),
      h("p", {}, "Failed attempts stay in the record. The next one starts from what is left."),
      field("cause", "Cause, if it did not cure"), field("material_lost", "Material lost"),
      field("left", "What is left: lateral, tube, resin"), field("hours", "Crew hours", { inputmode: "decimal" }),
      field("payer", "Who pays"), told,
      choice(...state.plan.ends.map((end) => button(end, () => finish(end)))),
      h("div", { class: "choice main" }, button("back, it goes on", () => go("step"), { "data-no": true })),
    ];
  };

  Field.overCard = (now) => [
    h("h2", { tabindex: "-1" }, `Attempt ${now.number}: ${now.end.answer}`),
    now.end.reason ? h("p", {}, `Cause: ${now.end.reason}.`) : null,
    ...["left", "material_lost", "payer"].filter((name) => (now.end.words || {})[name])
      .map((name) => h("p", {}, `${{ left: "Left", material_lost: "Lost", payer: "Pays" }[name]}: ${now.end.words[name]}.`)),
    now.end.answer === "cured" ? h("p", {}, "The office takes it from here. Acceptance is signed by a person.")
      : h("div", { class: "choice main" }, button(`begin attempt ${now.number + 1}`, () => { state.next = now.number + 1; go("step"); }, { class: "do", "data-yes": true })),
    choice(button("entries", () => go("log")), button("a remark", () => go("remark"))),
  ];

  // ---------------------------------------------------------------- names, remark, steps, entries
  Field.namesCard = () => {
    const box = (id, words, value) => {
      const made = h("input", { id, value, autocomplete: "off" });
      return [made, h("div", { class: "read words" }, h("label", { for: id }, words), made)];
    };
    const [entered, first] = box("entered", "Entered by (you)", state.names ? state.names.entered : "");
    const [read, second] = box("read", "Gauges read by", state.names ? state.names.read : "");
    return [
      h("h2", { tabindex: "-1" }, "Who is on this tablet?"),
      h("p", {}, "Both names stand with every entry; initials come from them."),
      first, second,
      h("div", { class: "choice main" }, button("this is us", () => {
        if (!entered.value.trim()) { entered.focus(); return; }
        state.names = { entered: entered.value.trim(), read: read.value.trim() || entered.value.trim() };
        Field.setMeta("names", state.names);
        Field.wake();
        go("step");
      }, { "data-yes": true, class: "do" })),
    ];
  };

  Field.remarkCard = (now) => {
    const box = h("textarea", { id: "remark", rows: 4, oninput: () => Field.draft("remark", box.value) });
    box.value = Field.draft("remark");
    return [
      h("h2", { tabindex: "-1" }, "Remark"),
      h("label", { for: "remark" }, "What was seen or done"), box,
      h("div", { class: "choice main" }, button("enter", () => {
        if (!box.value.trim()) return;
        Field.emit("remark", { reason: box.value.trim(), step: now.current ? now.current.key : "" });
        Field.draft("remark", "");
        go("step");
      }, { class: "do", "data-yes": true }), button("back", () => go("step"), { "data-no": true })),
    ];
  };

  Field.stepsCard = (now) => [
    h("h2", { tabindex: "-1" }, "All steps"),
    h("div", { class: "every" }, state.plan.steps.map((step) => {
      const done = now.steps.get(step.key);
      const word = done ? (done.kind === "skip" ? "skipped" : Field.clockText(Date.parse(done.at), state.plan.project.zone)) : "to do";
      return button([h("span", {}, step.words), h("span", {}, word)], () => go(done ? "log" : `open ${step.key}`));
    })),
    h("div", { class: "choice main" }, button("back", () => go("step"), { "data-no": true })),
  ];

  Field.logCard = (now) => [
    h("h2", { tabindex: "-1" }, `Entries of attempt ${now.number}`),
    h("div", { class: "every" }, [...now.events].reverse().map((one) => {
      const step = state.plan.steps.find((item) => item.key === one.step);
      const what = [one.kind, step ? step.words : "", one.question || "", one.answer || "",
        one.values.map((value) => value.typed).join(", "), Object.values(one.words).join(", "), one.reason || ""];
      const text = [h("span", {}, what.filter(Boolean).join(" · ")),
        h("span", {}, `${Field.clockText(Date.parse(one.at), state.plan.project.zone)} ${one.entered_by}`)];
      if (one.kind !== "step" || !step || !one.id) return h("div", { class: "entry" }, text);
      return button(text, () => {
        state.correcting = one;
        for (const value of one.values) {
          Field.draft(`${now.number} ${step.key} ${value.name}`, value.typed.split(" ")[0]);
        }
        for (const [name, word] of Object.entries(one.words)) Field.draft(`${now.number} ${step.key} ${name}`, word);
        go(`open ${step.key}`);
      }, { title: "correct this entry" });
    })),
    h("div", { class: "choice main" }, button("back", () => go("step"), { "data-no": true })),
  ];
})();
