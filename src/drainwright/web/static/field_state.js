"use strict";
// What is known of one lateral on this device: plan, entries of all devices, drafts, checks.
(() => {
  const state = {
    project: "", lateral: "", plan: null, newPlan: null, device: "", names: null, next: 0,
    own: [], others: [], drafts: {}, correcting: null, changed: () => {},
  };
  Field.state = state;

  const channel = "BroadcastChannel" in self ? new BroadcastChannel("drainwright field") : null;
  const parsed = (entry) => {
    try {
      const event = { values: [], words: {}, attempt: 1, ...JSON.parse(entry.text) };
      return { ...event, id: entry.id, device: entry.device };
    } catch {
      return null; // text of a newer program: it stays in the journal, this page can't show it
    }
  };

  Field.load = async () => {
    const here = (one) => one && one.lateral === state.lateral;
    const head = await Field.meta("head");
    state.device = head ? head.device : "";
    const waits = state.own.filter((one) => !one.id);
    state.own = (await Field.entries()).map(parsed).filter(here).concat(waits);
    state.others = (await Field.others()).map(parsed).filter(here);
  };
  if (channel) {
    channel.onmessage = () => Field.load().then(() => state.changed("entries"));
  }

  // entries by attempt, corrected ones left out, in the order of their times
  Field.attempts = () => {
    const all = [...state.own, ...state.others];
    const replaced = new Set(all.map((one) => one.corrects).filter(Boolean));
    const kept = all.filter((one) => !one.id || !replaced.has(one.id));
    kept.sort((a, b) => Date.parse(a.at) - Date.parse(b.at) || (a.id || "~").localeCompare(b.id || "~"));
    const found = new Map();
    for (const one of kept) found.set(one.attempt, [...(found.get(one.attempt) || []), one]);
    return found;
  };

  Field.now = () => {
    const attempts = Field.attempts();
    const last = Math.max(1, ...attempts.keys());
    const number = Math.max(last, state.next);
    const events = attempts.get(number) || [];
    const before = attempts.get(number - 1) || [];
    const of = (kind, list = events) => list.filter((one) => one.kind === kind);
    const steps = new Map();
    for (const one of events) if (["step", "skip"].includes(one.kind)) steps.set(one.step, one);
    const current = state.plan ? state.plan.steps.find((step) => !steps.has(step.key)) : null;
    return {
      number, events, steps, current, end: of("end").pop() || null,
      released: of("release").length > 0, before: of("end", before).pop() || null,
    };
  };

  Field.doubled = (events) => {
    const found = new Map();
    for (const one of events) {
      if (one.kind !== "step" || one.corrects || !one.id) continue;
      found.set(one.step, [...(found.get(one.step) || []), one]);
    }
    return [...found.values()].filter((list) => new Set(list.map((one) => one.device)).size > 1);
  };

  // ---------------------------------------------------------------- making an entry
  Field.emit = (kind, parts = {}, photo = null) => {
    const names = state.names || { entered: "", read: "" };
    const event = {
      form: 1, kind, at: new Date().toISOString(), lateral: state.lateral,
      entered_by: names.entered, read_by: names.read, attempt: Field.now().number,
      sheet_revision: state.plan ? state.plan.sheet.revision : 0, origin: "device",
      words: {}, values: [], ...parts,
    };
    for (const key of ["read_by", "step", "reason", "answer", "question", "initials", "corrects"]) {
      if (!event[key]) delete event[key];
    }
    if (Math.abs(Field.drift || 0) >= 30000) {
      event.words = { ...event.words, clock_off: `${Math.round(Field.drift / 1000)} s` };
    }
    const shown = { ...event };
    state.own.push(shown);
    const stored = Field.append(event, photo).then((entry) => {
      shown.id = entry.id;
      shown.device = state.device = entry.device;
      if (channel) channel.postMessage("entry");
      Field.soon();
    }, (error) => {
      state.own = state.own.filter((one) => one !== shown);
      Field.failed = `Not stored: ${error}. Write it on the hand form, then try again.`;
    });
    return stored.finally(() => state.changed("stored"));
  };
  Field.soon = () => {};

  // ---------------------------------------------------------------- numbers and checks
  Field.toSi = (typed, kind) => {
    const text = typed.trim().replace("−", "-").replace(",", ".");
    if (!/^-?(\d+\.?\d*|\.\d+)$/.test(text)) return null;
    const { factor, offset } = state.plan.kinds[kind];
    return Number(text) * factor + offset;
  };
  Field.shown = (si, kind, digits) => {
    const { factor, offset, shown, digits: usual } = state.plan.kinds[kind];
    return `${((si - offset) / factor).toFixed(digits === undefined ? usual : digits)} ${shown}`;
  };
  Field.valueOf = (asked, typed) => ({
    name: asked.name, value: Field.toSi(typed, asked.kind), kind: asked.kind,
    typed: `${typed.trim()} ${state.plan.kinds[asked.kind].shown}`,
  });

  Field.check = (window, value) => {
    if (!window) return null;
    const low = window.low !== null && value < window.low;
    const high = window.high !== null && value > window.high;
    if (!low && !high) return null;
    return {
      heading: low ? "Too low." : "Too high.", meaning: low ? window.below : window.above,
      question: `${window.words}, ${window.limits}`, again: window.again, hold: window.hold,
    };
  };
  Field.checkRatio = (ratio, values) => {
    if (!ratio) return null;
    const [over, under] = [ratio.over, ratio.under].map(
      (name) => (values.find((one) => one.name === name) || {}).value);
    if (!over || !under || (over / under >= ratio.low && over / under <= ratio.high)) return null;
    return {
      heading: "Ratio off.", meaning: ratio.meaning, question: "Mixing ratio by weight",
      again: "weighed again", hold: "stop, call the superintendent",
    };
  };

  // where the front is, from the cable; only with a tube stored straight
  Field.front = (cable) => {
    const { half, seated } = state.plan.cable;
    return half && seated ? (cable * half) / seated : null;
  };

  // ---------------------------------------------------------------- drafts: typed, not yet entered
  const key = () => `field draft ${state.project} ${state.lateral}`;
  Field.readDrafts = () => {
    try {
      state.drafts = JSON.parse(localStorage.getItem(key())) || {};
    } catch {
      state.drafts = {};
    }
  };
  Field.draft = (name, text) => {
    if (text === undefined) return state.drafts[name] || "";
    if (text === "") delete state.drafts[name];
    else state.drafts[name] = text;
    try {
      localStorage.setItem(key(), JSON.stringify(state.drafts));
    } catch {
      // without room for drafts only a reload loses what is half typed
    }
    return text;
  };
})();
