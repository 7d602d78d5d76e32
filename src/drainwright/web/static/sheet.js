"use strict";
(() => {
  const typing = (node) => node.closest("input, select, textarea, [contenteditable]");

  // the list: j and k (or arrows) move, Enter opens, / searches, [ and ] turn pages
  const rows = () => [...document.querySelectorAll("[data-list] tr.lateral")];
  const kept = () => "row at " + location.pathname + location.search;
  const mark = (row) => {
    document.querySelector("[data-list] tr.at")?.classList.remove("at");
    row.classList.add("at");
    sessionStorage.setItem(kept(), row.dataset.key);
    document.dispatchEvent(new CustomEvent("lateral-marked", { detail: row }));
  };
  const step = (by) => {
    const all = rows();
    if (!all.length) return;
    const at = all.findIndex((row) => row.classList.contains("at"));
    const row = all[Math.min(Math.max(at + by, 0), all.length - 1)];
    mark(row);
    row.querySelector("a").focus({ preventScroll: true });
    row.scrollIntoView({ block: "nearest" });
  };
  const markBefore = () => {
    const key = sessionStorage.getItem(kept());
    const row = rows().find((one) => one.dataset.key === key);
    if (row) mark(row);
  };
  markBefore();
  document.addEventListener("focusin", (event) => {
    const row = event.target.closest?.("[data-list] tr.lateral");
    if (row && !row.classList.contains("at")) mark(row);
  });
  document.addEventListener("click", (event) => {
    const row = event.target.closest?.("[data-list] tr.lateral");
    if (row && !event.target.closest("a") && !String(getSelection())) row.querySelector("a").click();
  });
  const keys = document.getElementById("keys");
  const tellKeys = document.querySelector("[data-keys]");
  if (tellKeys) {
    tellKeys.hidden = false;
    tellKeys.addEventListener("click", () => keys.showModal());
  }
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || typing(event.target)) return;
    if (keys?.open || event.target.closest("[data-own-keys]")) return;
    const onMap = event.target.closest("#map");
    const search = document.querySelector("[data-search]");
    const done = () => event.preventDefault();
    if (event.key === "/" && search) {
      done();
      search.focus();
      search.select();
    } else if (event.key === "?" && keys) {
      done();
      keys.showModal();
    } else if (event.key === "j" || (event.key === "ArrowDown" && !onMap)) {
      if (rows().length) done();
      step(1);
    } else if (event.key === "k" || (event.key === "ArrowUp" && !onMap)) {
      if (rows().length) done();
      step(-1);
    } else if (event.key === "[" || event.key === "]") {
      document.querySelector(event.key === "[" ? "[data-previous]" : "[data-next]")?.click();
    } else if (event.key === "Enter" && event.target === document.body) {
      document.querySelector("[data-list] tr.at a")?.click();
    } else if (event.key === "Escape") {
      document.querySelector("[data-back]")?.focus();
    }
  });

  // an observation, its flag and its reason light up together
  const named = [...document.querySelectorAll("[data-row]")];
  const numbers = (node) => node.dataset.row.split(",");
  const light = (wanted) =>
    named.forEach((node) =>
      node.classList.toggle("lit", wanted.some((number) => numbers(node).includes(number)))
    );
  for (const node of named) {
    const own = numbers(node);
    if (node.namespaceURI.endsWith("svg")) node.setAttribute("tabindex", "0");
    for (const kind of ["mouseenter", "focusin"]) node.addEventListener(kind, () => light(own));
    for (const kind of ["mouseleave", "focusout"]) node.addEventListener(kind, () => light([]));
  }

  // a file dropped onto a form is chosen; choosing one is enough to have it looked at
  const target = (event) => event.target.closest?.("form[data-drop]");
  document.addEventListener("dragover", (event) => {
    const form = document.querySelector("form[data-drop]");
    if (!form || !event.dataTransfer?.types.includes("Files")) return;
    event.preventDefault();
    form.classList.add("over");
  });
  document.addEventListener("dragleave", (event) => {
    if (!event.relatedTarget) document.querySelector("form[data-drop]")?.classList.remove("over");
  });
  document.addEventListener("drop", (event) => {
    const form = document.querySelector("form[data-drop]");
    if (!form || !event.dataTransfer?.files.length) return;
    event.preventDefault();
    form.classList.remove("over");
    form.querySelector("input[type=file]").files = event.dataTransfer.files;
    form.requestSubmit();
  });
  document.addEventListener("change", (event) => {
    if (event.target.type === "file" && target(event)) target(event).requestSubmit();
  });

  // papers: all at once
  const all = document.querySelector("[data-all]");
  if (all) {
    all.closest("[hidden]").hidden = false;
    all.addEventListener("change", () => {
      for (const box of document.querySelectorAll('input[name="lateral"]:not(:disabled)')) {
        box.checked = all.checked;
      }
    });
  }
})();
