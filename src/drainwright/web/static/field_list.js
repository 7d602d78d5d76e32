"use strict";
// The list of the shift: every lateral's plan is kept on this device before the truck leaves.
(() => {
  const told = document.getElementById("kept");
  const keys = [...document.querySelectorAll("[data-lateral]")].map((node) => node.dataset.lateral);
  const keep = async () => {
    await Field.open(document.body.dataset.project);
    let kept = 0;
    for (const key of keys) {
      try {
        const plan = await Field.send(`/field/-/plan?lateral=${encodeURIComponent(key)}`, "GET");
        const before = await Field.plan(key);
        // a plan already at work is changed on its own page, by a person
        if (!before || before.sheet.revision === plan.sheet.revision) await Field.keepPlan(key, plan);
        kept += 1;
      } catch {
        if (await Field.plan(key)) kept += 1;
      }
    }
    if (keys.length) told.textContent = `${kept} of ${keys.length} laterals are kept on this device.`;
    document.body.dataset.ready = "yes";
  };
  if (navigator.serviceWorker) navigator.serviceWorker.register("/field/sw.js", { scope: "/field" }).catch(() => {});
  keep().catch((error) => { told.textContent = `This browser can’t keep entries: ${error}. Use the hand form.`; });
})();
