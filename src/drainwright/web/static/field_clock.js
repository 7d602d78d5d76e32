"use strict";
// The clocks: resin by its gel law, steam, cooling, residents, main. Instants are milliseconds
// since 1970 in UTC; only showing one asks for the project's zone.
(() => {
  const GAS = 8.314462618, POINTS = 65, SETTLED = 8, WEEK = 7 * 86400;

  const gelTime = (T, law) => {
    const energy = law.temperature > T ? law.energy_colder : law.energy_warmer;
    return law.time * Math.exp((energy / GAS) * (1 / T - 1 / law.temperature));
  };
  const follow = (T, phase, seconds) =>
    phase.around + (T - phase.around) * Math.exp(-seconds / phase.lag);

  // share of life used along phases, with the temperature at the end
  const along = (start, phases, law) => {
    let used = 0, T = start;
    for (const phase of phases) {
      const settled = Math.min(SETTLED * phase.lag, phase.seconds);
      for (const [from, to] of [[0, settled], [settled, phase.seconds]]) {
        if (to <= from) continue;
        const h = (to - from) / (POINTS - 1);
        let sum = 0;
        for (let i = 0; i < POINTS; i += 1) {
          const weight = i === 0 || i === POINTS - 1 ? 1 : i % 2 ? 4 : 2;
          sum += weight / gelTime(follow(T, phase, from + i * h), law);
        }
        used += (sum * h) / 3;
      }
      T = follow(T, phase, phase.seconds);
    }
    return { used, T };
  };

  // how long phase `index` may last so that `share` is used at the end; null where nothing is left
  const longest = (start, phases, law, share, index) => {
    const spare = (seconds) =>
      along(start, phases.map((p, i) => (i === index ? { ...p, seconds } : p)), law).used - share;
    if (share <= 0 || spare(0) > 0) return null;
    let low = 0, high = WEEK;
    if (spare(high) <= 0) return high;
    for (let i = 0; i < 44; i += 1) {
      const middle = (low + high) / 2;
      if (spare(middle) > 0) high = middle; else low = middle;
    }
    return low;
  };

  const readT = (event) => {
    for (const name of ["resin_temperature", "liner_temperature"]) {
      const found = (event.values || []).find((one) => one.name === name);
      if (found) return found.value;
    }
    return null;
  };

  const timeOf = (events, step) => {
    const found = events.filter((one) => one.kind === "step" && one.step === step);
    return found.length ? Date.parse(found[found.length - 1].at) : null;
  };
  Field.timeOf = timeOf;

  Field.resin = (rules, events, now) => {
    const mixed = timeOf(events, "mixed");
    if (!rules || mixed === null || now < mixed || timeOf(events, "seated") !== null) return null;
    const air = (seconds) => ({ seconds, around: rules.air, lag: rules.lag_air });
    const ice = (seconds) => ({ seconds, around: rules.ice, lag: rules.lag_ice });
    let at = mixed, used = 0, T = rules.air, cold = null;
    const moments = events
      .map((one) => ({
        at: Math.max(Date.parse(one.at), mixed), T: readT(one),
        cold: one.kind === "step" && one.step === "on_ice" ? true
          : one.kind === "step" && one.step === "off_ice" ? false : null,
      }))
      .filter((one) => one.at <= now && (one.T !== null || one.cold !== null));
    for (const moment of [...moments, { at: now, T: null, cold: null }]) {
      const seconds = (moment.at - at) / 1000;
      if (seconds > 0) {
        const done = along(T, [cold ? ice(seconds) : air(seconds)], rules.law);
        used += done.used;
        T = done.T;
      }
      at = moment.at;
      if (moment.T !== null) T = moment.T;
      if (moment.cold !== null) cold = moment.cold;
    }
    const wait = cold === null ? Math.max(rules.wet_out - (now - mixed) / 1000, 0) : 0;
    const after = (phases, share, index) =>
      longest(T, phases, rules.law, Math.min(share - used, 1), index);
    let off = null, tap = null, seated = null, path;
    if (cold !== false) {
      const onward = air(rules.moving + rules.inverting);
      const long = after([air(wait), ice(0), onward], rules.life_seated, 1);
      off = long === null ? null : wait + long;
      tap = off === null ? null : off + rules.moving;
      seated = tap === null ? null : tap + rules.inverting;
      path = [air(wait), ice(long || 0), onward];
    } else {
      seated = after([air(0)], rules.life_seated, 0);
      tap = seated === null ? null : seated - rules.inverting;
      path = [air(seated || 0)];
    }
    const more = after([...path, air(0)], rules.life_out, path.length);
    const total = path.reduce((sum, phase) => sum + phase.seconds, 0);
    const out = more === null ? null : total + more - rules.withdrawing;
    const gels = after([cold ? ice(0) : air(0)], 1, 0);
    const later = (s) => (s === null ? null : now + Math.floor(s) * 1000);
    return {
      used, T, mixed, where: cold ? "on ice" : "in the air", gels: later(gels),
      off_ice: later(off), at_tap: later(tap), seated: later(seated), pull_out: later(out),
    };
  };

  // every deadline of an attempt, the resin's first: {key, words, at, since}
  Field.deadlines = (plan, events, now) => {
    if (!events.length || events.some((one) => one.kind === "end")) return [];
    const found = [], times = plan.times;
    const add = (key, words, at, since) => {
      if (at !== null && at !== undefined) found.push({ key, words, at, since });
    };
    const after = (key, words, since, seconds) =>
      add(key, words, seconds === null ? null : since + seconds * 1000, since);
    const resin = Field.resin(plan.clock.rules, events, now);
    if (resin) {
      add("off_ice", "off the ice by", resin.off_ice, resin.mixed);
      if (timeOf(events, "at_tap") === null) add("at_tap", "at the tap by", resin.at_tap, resin.mixed);
      add("seated", "seated by", resin.seated, resin.mixed);
      add("pull_out", "pull out by", resin.pull_out, resin.mixed);
      add("gels", "gels, where it is, at", resin.gels, resin.mixed);
    }
    const [on, steady, shut, soak] = ["steam_on", "exhaust_steady", "steam_shut", "soak_back"]
      .map((step) => timeOf(events, step));
    if (on !== null && steady === null && shut === null) {
      after("steam_trouble", "exhaust at temperature by", on, times.trouble);
    }
    if (on !== null && shut === null && times.hold !== null) {
      const ends = [[on + times.hold * 1000, on]];
      if (steady !== null && times.after_exhaust !== null) {
        ends.push([steady + times.after_exhaust * 1000, steady]);
      }
      const [until, since] = ends.reduce((a, b) => (b[0] > a[0] ? b : a));
      add("steam_until", "steam on until", until, since);
    }
    if (shut !== null && soak === null) after("cool_until", "cooling air until", shut, times.cool);
    if (soak !== null && timeOf(events, "let_down") === null) {
      after("let_down", "let down not before", soak, times.soak_back);
    }
    const off = timeOf(events, "flow_control");
    if (off !== null && timeOf(events, "restored") === null) {
      after("water_back", "water back by", off, times.service_out);
      const bypass = events.map((one) => (one.words || {}).bypass).filter(Boolean).pop();
      if (times.plugged !== null && bypass !== "yes") after("main", "main full by", off, times.plugged);
    }
    return found;
  };

  // ---------------------------------------------------------------- showing instants
  const formats = {};
  const format = (zone, options) => {
    const key = zone + JSON.stringify(options);
    formats[key] = formats[key] ||
      new Intl.DateTimeFormat("en-US", { timeZone: zone, hourCycle: "h23", ...options });
    return formats[key];
  };
  const day = (at, zone) =>
    format(zone, { year: "numeric", month: "numeric", day: "numeric" }).format(at);
  Field.clockText = (at, zone, now = at) => {
    const text = format(zone, { hour: "2-digit", minute: "2-digit" }).format(at);
    if (day(at, zone) === day(now, zone)) return text;
    return `${text} ${format(zone, { weekday: "short" }).format(at)}`;
  };
  Field.spanText = (milliseconds) => {
    const minutes = Math.floor(Math.abs(milliseconds) / 60000);
    const hours = Math.floor(minutes / 60);
    return hours ? `${hours} h ${String(minutes % 60).padStart(2, "0")}` : `${minutes} min`;
  };

  // ---------------------------------------------------------------- a clock as a measuring tape
  const steps = [[1, 5], [5, 15], [5, 30], [15, 60], [30, 120], [60, 240], [120, 480], [360, 1440]];
  Field.tape = (since, now, marks, label) => {
    // on a phone the tape is drawn half as wide, so that its letters stay as large
    const phone = innerWidth < 640, full = phone ? 420 : 760, width = full - 20, most = phone ? 5 : 9, last = Math.max(now, ...marks.map((mark) => mark.at));
    const minutes = Math.max((last - since) / 60000, 1) * 1.04;
    const x = (at) => 10 + (width * (at - since)) / 60000 / minutes;
    const [small, large] = steps.find(([, l]) => minutes / l <= most) || steps[steps.length - 1];
    const parts = [
      `<rect x="10" y="30" width="${width}" height="26" class="tp"/>`,
      `<rect x="10" y="30" width="${(x(now) - 10).toFixed(1)}" height="26" class="used"/>`,
    ];
    for (let at = 0; at <= minutes; at += small) {
      const here = x(since + at * 60000).toFixed(1), named = at % large === 0;
      parts.push(`<path d="M${here} 56v${named ? -13 : -7}" class="tk"/>`);
      const side = at === 0 ? "start" : at > minutes * 0.96 ? "end" : "middle";
      const word = large % 60 === 0 && minutes > 240 ? `${at / 60} h` : `${at}`;
      if (named) parts.push(`<text x="${here}" y="77" text-anchor="${side}">${word}</text>`);
    }
    parts.push(`<path d="M${x(now).toFixed(1)} 22v42" class="now"/>`);
    let free = Infinity;
    const letter = innerWidth < 1080 ? 8.4 : 10.8; // beside the card the tape is drawn smaller
    for (const mark of [...marks].sort((a, b) => b.at - a.at)) {
      const here = x(mark.at), room = mark.text.length * letter;
      parts.push(`<path d="M${here.toFixed(1)} 18v38" class="mk"/>`);
      const end = here + room <= Math.min(free, full - 10) ? here : Math.min(here, free - 10);
      const side = end === here && here + room <= Math.min(free, full - 10) ? "start" : "end";
      if (side === "end" && end - room < 0) continue;
      parts.push(`<text x="${end.toFixed(1)}" y="13" text-anchor="${side}" class="b">${mark.text}</text>`);
      free = side === "start" ? here : end - room;
    }
    return `<svg viewBox="0 0 ${full} 84" class="tape" role="img" aria-label="${label}">${parts.join("")}</svg>`;
  };
})();
