"use strict";
// The running cure beside the form: what the logger's file says. It may fail; the form goes on.
(() => {
  const { state, h } = Field, box = document.getElementById("live");
  const address = () => `lateral=${encodeURIComponent(state.lateral)}&attempt=${Field.now().number}`;

  const chart = (told) => {
    const shown = told.series.filter((one) => one.values.some((value) => value !== null)).slice(0, 6);
    const all = shown.flatMap((one) => one.values.filter((value) => value !== null));
    if (!all.length) return null;
    const times = shown[0].times, [first, last] = [times[0], times[times.length - 1]];
    const low = Math.floor(Math.min(...all) / 50) * 50, high = Math.ceil(Math.max(...all) / 50) * 50;
    const x = (at) => 46 + (700 * (at - first)) / Math.max(last - first, 1);
    const y = (value) => 210 - (190 * (value - low)) / Math.max(high - low, 1);
    const parts = [];
    for (let at = low; at <= high; at += 50) {
      parts.push(`<path class="grid" d="M46 ${y(at)}H746"/><text x="40" y="${y(at) + 5}" text-anchor="end">${at}</text>`);
    }
    const { zone } = state.plan.project;
    for (const [at, side] of [[first, "start"], [last, "end"]]) {
      parts.push(`<text x="${x(at)}" y="230" text-anchor="${side}">${Field.clockText(at, zone)}</text>`);
    }
    shown.forEach((one, number) => {
      let pen = "M";
      const path = one.values.map((value, i) => {
        if (value === null) { pen = "M"; return ""; }
        const part = `${pen}${x(one.times[i]).toFixed(1)} ${y(value).toFixed(1)}`;
        pen = "L";
        return part;
      }).join("");
      parts.push(`<path class="c${number % 4}" d="${path}"/>`);
    });
    const made = h("div", {});
    made.innerHTML = `<svg class="chart" viewBox="0 0 760 236" role="img" aria-label="temperatures of the logger, ${told.unit}">${parts.join("")}</svg>`;
    made.append(h("p", {}, `${told.unit}: ${shown.map((one, i) => `${["solid", "blue dashes", "dots", "blue"][i % 4]} ${one.name}`).join(", ")}`));
    return made;
  };

  const show = (told) => {
    const at = Field.clockText(Date.parse(told.at), state.plan.project.zone, Date.now());
    let picture = null;
    try {
      picture = chart(told);
    } catch { /* the lines say it all */ }
    box.replaceChildren(h("h2", {}, `Live cure, logger to ${at}`),
      ...told.alarms.map((one) => h("div", { class: "warn" }, h("b", {}, "Alarm. "), one.words)),
      ...told.lines.map((line) => h("p", {}, line)), ...(picture ? [picture] : []), paste());
    Field.live(told.alarms.map((one) => one.words));
  };

  // what is half pasted stays
  let pasting = null;
  const paste = () => {
    if (pasting) return pasting;
    const text = h("textarea", { id: "csv", rows: 3 }), told = h("p", { class: "ask", role: "status" });
    const send = async () => {
      try {
        show(await Field.send(`/field/-/log?${address()}`, "POST", text.value, "text/csv"));
        text.value = "";
        told.textContent = "";
      } catch (error) {
        told.textContent = error.status === 422 ? "This can’t be read as a logger’s file." : "The laptop does not answer; paste it again later.";
      }
    };
    pasting = h("div", {}, h("label", { for: "csv" }, "Logger’s file, pasted as text (CSV)"), text, told,
      h("div", { class: "choice" }, h("button", { type: "button", onclick: send }, "look at it")));
    return pasting;
  };

  const look = async () => {
    if (!state.plan) return;
    const now = Field.now();
    const hot = now.steps.has("steam_on") && !now.steps.has("let_down") && !now.end;
    if (!hot) {
      box.replaceChildren();
      Field.live([]);
      return;
    }
    if (!box.childElementCount) box.replaceChildren(h("h2", {}, "Live cure"), paste());
    try {
      const told = await Field.send(`/field/-/live?${address()}`, "GET");
      if (told.lines) show(told);
    } catch { /* no logger now: the crew's readings and the clocks stand */ }
  };
  setInterval(look, 15000);
  setTimeout(look, 1500);
})();
