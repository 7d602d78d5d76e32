"use strict";
// The field page of one lateral: header, clocks, lines, the card at hand, alarms, outbox.
(() => {
  const { state, h } = Field, $ = (id) => document.getElementById(id);
  state.project = document.body.dataset.project;
  state.lateral = decodeURIComponent(location.pathname.replace(/^\/field\//, ""));
  state.view = "step";
  const zone = () => state.plan.project.zone;
  const plain = location.protocol === "http:" && !isSecureContext;

  // ---------------------------------------------------------------- the card at hand
  let cardOf = "";
  const cardNodes = (now) => {
    const [kind, ...rest] = state.view.split(" "), key = rest.join(" ");
    const step = state.plan.steps.find((one) => one.key === key);
    if (!state.names) return Field.namesCard();
    if (kind === "names") return Field.namesCard();
    if (kind === "log") return Field.logCard(now);
    if (kind === "remark") return Field.remarkCard(now);
    if (kind === "steps") return Field.stepsCard(now);
    if (kind === "cards") return Field.cardsCard(now);
    if (kind === "trouble") return Field.troubleCard(state.plan.cards.find((one) => one.card.key === key), now);
    if (now.end) return Field.overCard(now);
    if (kind === "end") return Field.endCard(now);
    if (kind === "read") return Field.readCard(now);
    if (kind === "skip" && step) return Field.skipCard(step);
    if (kind === "open" && step) return Field.stepCard(step, now);
    if (!now.current) return Field.endCard(now);
    if (now.current.key === "mixed" && !now.released) return Field.goCard(now);
    return Field.stepCard(now.current, now);
  };
  // A card is built anew only when it is another one, so that nothing typed is ever taken away.
  const renderCard = (force, focus) => {
    const now = Field.now();
    const mark = [state.view, now.number, Boolean(state.names), Boolean(now.end), now.released,
      now.current ? now.current.key : "-"].join("|");
    if (!force && mark === cardOf) return;
    cardOf = mark;
    $("card").replaceChildren(...cardNodes(now).filter(Boolean));
    const at = focus ? $(`read-${focus}`) : force ? $("card").querySelector("input, h2") : null;
    if (at) at.focus({ preventScroll: false });
  };
  Field.show = (view, focus) => {
    const before = $("card").scrollTop;
    if (view !== state.view && view === "step") state.correcting = null;
    state.view = view;
    render(true, focus);
    if (focus) $("card").scrollTop = before;
  };

  // ---------------------------------------------------------------- clocks, lines, steps
  const group = (title, big, since, now, marks) => {
    const label = `${title}: ${marks.map((mark) => mark.text).join(", ")}`;
    const box = h("div", { class: "clock" },
      h("div", { class: "row" }, h("h2", {}, title), h("p", { class: "big" }, big)));
    const tape = h("div", {});
    tape.innerHTML = Field.tape(since, now, marks, label.replace(/[<>&"]/g, ""));
    box.append(tape);
    return box;
  };
  const clocks = (now, at) => {
    const found = Field.deadlines(state.plan, now.events, at);
    const text = (one) => `${one.words} ${Field.clockText(one.at, zone(), at)}`;
    const get = (...keys) => found.filter((one) => keys.includes(one.key));
    const made = [];
    const resin = Field.resin(state.plan.clock.rules, now.events, at);
    if (resin && !now.end) {
      const rows = get("off_ice", "at_tap", "seated", "pull_out");
      const next = rows.find((one) => one.at > at) || rows[rows.length - 1] || get("gels")[0];
      const marks = rows.filter((one) => one === next || ["seated", "pull_out"].includes(one.key))
        .map((one) => ({ at: one.at, text: one === next ? text(one) : one.words }));
      const where = Field.timeOf(now.events, "at_tap") !== null ? "at the tap" : resin.where;
      const warm = Field.shown(resin.T, "temperature", 0);
      made.push(group(`Resin at ${warm}, ${where}, ${Math.round(resin.used * 100)} % of life used`,
        next ? text(next) : "no time left", resin.mixed, at, marks));
    }
    for (const one of get("steam_trouble", "steam_until", "cool_until", "let_down")) {
      const title = one.key.startsWith("steam") ? "Steam" : "Cooling";
      made.push(group(`${title} since ${Field.clockText(one.since, zone(), at)}`, text(one), one.since, at,
        [{ at: one.at, text: one.words }]));
    }
    for (const one of get("water_back", "main")) {
      const home = one.key === "water_back";
      const marks = [{ at: one.at, text: one.words }];
      if (home) marks.unshift({ at: one.at - 45 * 60000, text: "tell them" });
      made.push(group(`${home ? "Residents, no water" : "Main plugged"} since ${Field.clockText(one.since, zone(), at)}`,
        text(one), one.since, at, marks));
    }
    return made;
  };
  const lines = (now) => {
    const last = (name) => [...now.events].reverse()
      .map((one) => [one, (one.values || []).find((value) => value.name === name)]).find(([, value]) => value);
    const row = (words, name, show) => {
      const found = last(name);
      return [h("dt", {}, words), h("dd", {}, found ? `${show(found[1])}  ` : "not read yet",
        found ? h("small", {}, Field.clockText(Date.parse(found[0].at), zone())) : null)];
    };
    const front = (value) => {
      const at = Field.front(value.value);
      return at === null ? value.typed : `${Field.shown(at, "length")} (cable ${value.typed})`;
    };
    const typed = (value) => value.typed;
    return [...row("Front", "cable", front), ...row("Tube pressure", "tube_pressure", typed),
      ...row("Carrier bladder", "bladder_pressure", typed)];
  };
  const stepList = (now) => {
    const done = state.plan.steps.filter((step) => now.steps.has(step.key));
    const last = done.slice(-2).map((step) => {
      const one = now.steps.get(step.key);
      const values = one.values.map((value) => value.typed).join(", ");
      return h("li", {}, one.kind === "skip" ? "skipped " : "✓ ", h("b", {}, step.words),
        h("span", {}, one.kind === "skip" ? one.reason : values), h("time", {}, Field.clockText(Date.parse(one.at), zone())));
    });
    const at = state.plan.steps.length;
    return [...last, h("li", { class: "count" }, `step ${Math.min(done.length + 1, at)} of ${at}, attempt ${now.number}`)];
  };

  // ---------------------------------------------------------------- notices
  const notices = (now) => {
    const made = [];
    const tell = (...words) => made.push(h("div", { class: "notice" }, words));
    if (Field.failed) tell(h("b", {}, Field.failed));
    if (plain) {
      tell(h("b", {}, "Plain http."), " This page can’t be opened again while the laptop is off, can’t keep the screen on, and the browser may clear it. Keep it open. Entries are kept on this device and go to the laptop as soon as it answers.");
    }
    if (Field.torn) tell(h("b", {}, "The laptop holds other entries under this tablet’s numbers."), " Nothing is overwritten. Save the outbox to a file and call the office.");
    const drift = Math.round((Field.drift || 0) / 60000);
    if (Math.abs(Field.drift || 0) >= 30000) {
      tell(`This tablet’s clock is ${Math.abs(drift) || "½"} min ${Field.drift > 0 ? "behind" : "ahead of"} the laptop’s; deadlines go by this tablet. Set it right.`);
    }
    if (jumped) tell(`This tablet’s clock was moved by ${Field.spanText(jumped)}, or it slept. Deadlines are clock times and stand.`);
    if (state.newPlan) {
      made.push(h("div", { class: "notice" }, `Work sheet revision ${state.newPlan.sheet.revision} was issued; this page checks against revision ${state.plan.sheet.revision}. `,
        h("button", { type: "button", onclick: () => takePlan(state.newPlan) }, "use the new one")));
    }
    if (!state.plan.clock.rules) tell(`No resin clock: ${state.plan.clock.why}.`);
    if (now.before && !now.events.length) tell(`Attempt ${now.number - 1}: ${now.before.answer}${now.before.reason ? `, ${now.before.reason}` : ""}. Left: ${(now.before.words || {}).left || "not written down"}.`);
    const doubled = Field.doubled(now.events);
    if (doubled.length > 1) tell(`${doubled.length} steps were entered by two crews; one after another:`);
    for (const pair of doubled.slice(0, 1)) {
      const step = state.plan.steps.find((one) => one.key === pair[0].step);
      const line = (one) => `${Field.clockText(Date.parse(one.at), zone())} ${one.entered_by}`;
      made.push(h("div", { class: "notice" }, h("b", {}, `Two crews entered “${step ? step.words : pair[0].step}”: `),
        pair.map(line).join("; "), ". Both are kept until a person settles it.",
        h("div", { class: "choice" }, pair.map((right) => h("button", { type: "button", onclick: () => {
          for (const wrong of pair.filter((one) => one !== right)) {
            Field.emit("step", { step: right.step, at: right.at, values: right.values, words: right.words,
              corrects: wrong.id, reason: `two entries of this step: ${line(right)} is right` });
          }
          render();
        } }, `${line(right)} is right`)))));
    }
    return made;
  };

  // ---------------------------------------------------------------- alarms
  const LEAD = 5 * 60000;
  const WARNED = ["off_ice", "at_tap", "seated", "pull_out", "steam_trouble", "water_back", "main"];
  let sounding = null, liveAlarms = [];
  const alarms = (now, at) => {
    const last = now.events[now.events.length - 1];
    if (!last || now.end || at - Date.parse(last.at) > 36 * 3600000) return [];
    const seen = new Set(now.events.filter((one) => one.kind === "alarm").map((one) => (one.words || {}).alarm));
    const found = [];
    for (const one of Field.deadlines(state.plan, now.events, at)) {
      if (!WARNED.includes(one.key) || one.at - at > LEAD) continue;
      const passed = one.at <= at;
      const words = `${one.words} ${Field.clockText(one.at, zone(), at)}: ${passed ? "time is over" : "less than 5 min left"}`;
      found.push({ id: `${one.key} ${passed ? "over" : "soon"}`, words });
    }
    found.push(...liveAlarms.map((words) => ({ id: `log ${words}`, words })));
    return found.filter((one) => !seen.has(one.id));
  };
  const sound = () => {
    try {
      sounding = sounding || new AudioContext();
      const tone = sounding.createOscillator(), level = sounding.createGain();
      tone.type = "square";
      tone.frequency.value = 880;
      level.gain.value = 0.25;
      tone.connect(level).connect(sounding.destination);
      tone.start();
      tone.stop(sounding.currentTime + 0.35);
    } catch { /* a device without sound still inverts the sheet */ }
  };
  let shownAlarms = "";
  const renderAlarms = (now, at) => {
    const found = alarms(now, at), mark = found.map((one) => one.id).join("|");
    document.documentElement.classList.toggle("alarm", found.length > 0);
    if (!found.length) document.documentElement.classList.remove("flip");
    if (mark === shownAlarms) return;
    shownAlarms = mark;
    const seen = (who) => {
      for (const one of found) {
        Field.emit("alarm", { question: one.words, answer: "seen", initials: who, words: { alarm: one.id } });
      }
      render();
    };
    $("alarm").replaceChildren(...(found.length ? [
      ...found.map((one) => h("p", {}, h("b", {}, one.words))),
      h("div", { class: "choice" }, (state.names ? Field.initials() : []).map((who) =>
        h("button", { type: "button", onclick: () => seen(who), "data-yes": true }, `${who} has seen it`))),
    ] : []));
  };
  // the whole sheet inverts and back every 0.9 s, a sound each time it does
  const still = matchMedia("(prefers-reduced-motion: reduce)");
  setInterval(() => {
    if (!document.documentElement.classList.contains("alarm")) return;
    if (still.matches) document.documentElement.classList.add("flip");
    else document.documentElement.classList.toggle("flip");
    if (document.documentElement.classList.contains("flip")) sound();
  }, 900);

  // ---------------------------------------------------------------- outbox
  let onlineNow = null;
  const foot = async () => {
    const waiting = await Field.waiting();
    const photos = waiting.photos ? `, ${waiting.photos} ${waiting.photos === 1 ? "photo" : "photos"}` : "";
    const age = waiting.oldest ? `, oldest ${Field.spanText(Date.now() - Date.parse(waiting.oldest))}` : "";
    const count = `${waiting.entries} ${waiting.entries === 1 ? "entry" : "entries"}${photos}`;
    const held = Field.persisted ? "Kept on this device." : "Kept on this device, which may clear it when full.";
    $("outbox").textContent = waiting.entries || waiting.photos
      ? `${count} waiting for the office${age}. ${held}`
      : `All entries are with the office. ${held}`;
    $("outbox").dataset.waiting = waiting.entries + waiting.photos;
    $("reached").textContent = onlineNow === null ? "" : onlineNow ? "Laptop answers." : "Laptop does not answer.";
  };
  $("save").addEventListener("click", async () => {
    const link = h("a", { href: URL.createObjectURL(await Field.outboxFile()), download: `${state.device || "tablet"} outbox.jsonl` });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
  });

  let busy = false, again = null;
  const sync = async () => {
    if (busy) return;
    busy = true;
    try {
      await Field.upload();
      onlineNow = true;
      if (await Field.listen(state.lateral)) { await Field.load(); render(); }
      await fetchPlan();
    } catch (error) {
      if (error.status === 409 || error.status === 422) Field.torn = true;
      else onlineNow = false;
    } finally {
      busy = false;
      await foot();
      renderNotices();
      clearTimeout(again);
      again = setTimeout(sync, onlineNow ? 15000 : 5000);
    }
  };
  Field.soon = () => { clearTimeout(again); again = setTimeout(sync, 300); };

  // ---------------------------------------------------------------- plan
  const takePlan = async (plan) => {
    state.plan = plan;
    state.newPlan = null;
    await Field.keepPlan(state.lateral, plan);
    render(true);
  };
  const fetchPlan = async () => {
    const plan = await Field.send(`/field/-/plan?lateral=${encodeURIComponent(state.lateral)}`, "GET");
    if (!state.plan || plan.sheet.revision === state.plan.sheet.revision) {
      if (JSON.stringify(plan) === JSON.stringify(state.plan)) return;
      const first = !state.plan;
      state.plan = plan;
      await Field.keepPlan(state.lateral, plan);
      if (first) render(true);
    } else state.newPlan = plan;
  };

  // ---------------------------------------------------------------- keypad, keys, photo, night
  Field.keypad = () => {
    const target = () => {
      const at = document.activeElement;
      return at && at.matches("#card input.num") ? at : $("card").querySelector("input.num");
    };
    const put = (box, text) => {
      box.value = text;
      box.dispatchEvent(new Event("input"));
    };
    const press = (key) => {
      const box = target();
      if (document.activeElement !== box) box.focus();
      if (key === "next") move(1);
      else if (key === "⌫") put(box, box.value.slice(0, -1));
      else if (key === "±") put(box, box.value.startsWith("-") ? box.value.slice(1) : `-${box.value}`);
      else put(box, box.value + key);
    };
    return h("div", { class: "keypad", role: "group", "aria-label": "keypad" },
      ["7", "8", "9", "0", "⌫", "4", "5", "6", ".", "±", "1", "2", "3", "next"].map((key) =>
        h("button", {
          type: "button", class: key === "next" ? "wide" : "", tabindex: "-1",
          "aria-label": { "⌫": "delete", "±": "minus" }[key] || key,
          onpointerdown: (event) => event.preventDefault(), onclick: () => press(key),
        }, key)));
  };
  const stops = () => [...document.querySelectorAll("#alarm button, #notices button, #card button, #card input, #card textarea, #bar button, footer button")]
    .filter((node) => node.offsetParent !== null && node.tabIndex >= 0);
  const move = (by) => {
    const all = stops(), at = all.indexOf(document.activeElement);
    const next = all[Math.min(Math.max(at + by, 0), all.length - 1)];
    if (next) next.focus();
  };
  // five keys suffice: enter, up, down, yes (y or F9), no (n or F10); in an empty box enter starts
  // turning the number up and down, enter takes it
  const dial = (box, event) => {
    const { digits, factor, offset } = state.plan.kinds[box.dataset.kind];
    const step = 10 ** -Math.min(digits, 1);
    const set = (number) => { box.value = number.toFixed(Math.min(digits, 1)); box.dispatchEvent(new Event("input")); };
    if (event.key === "Enter" && box.value === "" && !("dial" in box.dataset)) {
      box.dataset.dial = "";
      const now = Field.now();
      const last = [...now.events].reverse().flatMap((one) => one.values || []).find((one) => one.name === box.dataset.name);
      const asked = state.plan.steps.flatMap((one) => one.readings).find((one) => one.name === box.dataset.name && one.window);
      const w = asked && asked.window;
      const si = last ? last.value : w ? (w.mark ?? ((w.low ?? w.high) + (w.high ?? w.low)) / 2) : offset;
      set((si - offset) / factor);
      return true;
    }
    if (!("dial" in box.dataset)) return false;
    if (event.key === "ArrowUp" || event.key === "ArrowDown") {
      set(Number(box.value) + (event.key === "ArrowUp" ? 1 : -1) * step * (event.repeat ? 5 : 1));
      return true;
    }
    if (event.key === "Enter") delete box.dataset.dial;
    return false;
  };
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const at = document.activeElement, box = at && at.matches("input.num"), text = at && at.matches("textarea, input:not(.num)");
    if (box && dial(at, event)) { event.preventDefault(); return; }
    const name = event.key.toLowerCase();
    if (event.key === "ArrowDown" || event.key === "ArrowUp") {
      if (at && at.matches("textarea")) return;
      move(event.key === "ArrowDown" ? 1 : -1);
    } else if (event.key === "Enter" && at && at.matches("input")) move(1);
    else if (name === "f9" || (name === "y" && !text)) document.querySelector("#alarm [data-yes], #card [data-yes]")?.click();
    else if (name === "f10" || (name === "n" && !text)) [...document.querySelectorAll("#card [data-no]")].pop()?.click();
    else return;
    event.preventDefault();
  });
  $("photo").addEventListener("change", async (event) => {
    for (const file of event.target.files) {
      const bytes = new Uint8Array(await file.arrayBuffer());
      const sha256 = Field.sha256(bytes), now = Field.now();
      const last = [...now.steps.keys()].pop() || "";
      Field.emit("photo", { photo: sha256, step: now.current ? now.current.key : last, words: { file: file.name } },
        { sha256, name: file.name, blob: new Blob([bytes], { type: file.type }), sent: false });
    }
    event.target.value = "";
    render();
  });
  const night = (on) => {
    document.documentElement.classList.toggle("night", on);
    $("night").setAttribute("aria-pressed", String(on));
    try { localStorage.setItem("field night", on ? "1" : ""); } catch { /* only this time then */ }
  };
  $("night").addEventListener("click", () => night(!document.documentElement.classList.contains("night")));
  for (const [id, view] of [["toread", "read"], ["tosteps", "steps"], ["tocards", "cards"], ["tolog", "log"], ["toremark", "remark"], ["toend", "end"], ["names", "names"]]) {
    $(id).addEventListener("click", () => Field.show(view));
  }
  Field.wake = () => { if (navigator.wakeLock) navigator.wakeLock.request("screen").catch(() => {}); };
  document.addEventListener("visibilitychange", () => { if (!document.hidden) { Field.wake(); tick(); Field.soon(); } });

  // ---------------------------------------------------------------- drawing it all
  const renderNotices = () => { if (state.plan) { fill("notices", notices(Field.now())); } };
  const fill = (id, nodes) => {
    const box = $(id), made = h("div", {}, nodes);
    if (box.innerHTML !== made.innerHTML) box.replaceChildren(...made.childNodes);
  };
  const tick = () => {
    if (!state.plan) return;
    const at = Date.now(), now = Field.now();
    $("time").textContent = Field.clockText(at, zone());
    fill("clocks", clocks(now, at));
    renderAlarms(now, at);
    for (const node of document.querySelectorAll("[data-clock]")) {
      const one = Field.deadlines(state.plan, now.events, at).find((item) => item.key === node.dataset.clock);
      if (one) node.textContent = `${Field.clockText(one.at, zone(), at)} (${one.at < at ? "passed " : "in "}${Field.spanText(one.at - at)})`;
    }
  };
  const render = (force = false, focus = "") => {
    if (!state.plan) return;
    const now = Field.now(), { lateral, project, sheet } = state.plan;
    document.title = `${lateral.key} field log`;
    $("key").textContent = lateral.key;
    $("place").textContent = `${lateral.address} · ${lateral.tap}`;
    $("sheet").textContent = `${project.name} · work sheet revision ${sheet.revision}`;
    $("names").textContent = state.names ? `${state.names.entered} / ${state.names.read}` : "who?";
    fill("lines", lines(now));
    fill("steps", stepList(now));
    renderNotices();
    renderCard(force, focus);
    tick();
  };
  state.changed = () => { render(); foot(); };

  let jumped = 0, base = Date.now() - performance.now();
  setInterval(() => {
    const here = Date.now() - performance.now();
    if (Math.abs(here - base) > 60000) { jumped = here - base; renderNotices(); }
    base = here;
    tick();
  }, 1000);
  setInterval(foot, 20000);

  // ---------------------------------------------------------------- live cure, beside the form
  Field.live = (alarmWords) => { liveAlarms = alarmWords; tick(); };

  const start = async () => {
    try {
      const kept = localStorage.getItem("field night");
      night(kept === null ? matchMedia("(prefers-color-scheme: dark)").matches : kept === "1");
    } catch { /* by day */ }
    await Field.open(state.project);
    Field.readDrafts();
    state.names = (await Field.meta("names")) || null;
    state.plan = (await Field.plan(state.lateral)) || null;
    await Field.load();
    if (state.plan) { render(true); document.body.dataset.ready = "kept"; }
    if (navigator.storage && navigator.storage.persist) {
      navigator.storage.persist().then((kept) => { Field.persisted = kept; foot(); }, () => {});
    }
    if (navigator.serviceWorker) navigator.serviceWorker.register("/field/sw.js", { scope: "/field" }).catch(() => {});
    await sync();
    if (!state.plan) $("card").textContent = "This lateral is not on this device yet, and the laptop does not answer.";
    document.body.dataset.ready = "yes";
  };
  start().catch((error) => { $("card").textContent = `This browser can’t keep entries: ${error}. Use the hand form.`; });
})();
