"use strict";
(() => {
  const typing = (node) => node.closest("input, select, textarea, [contenteditable]");

  // the list: j and k (or arrows) move, Enter opens, / searches
  const rows = [...document.querySelectorAll("[data-list] tr.lateral")];
  const kept = "row at " + location.pathname + location.search;
  let at = -1;
  const go = (to, focus) => {
    if (!rows.length) return;
    rows[at]?.classList.remove("at");
    at = Math.min(Math.max(to, 0), rows.length - 1);
    rows[at].classList.add("at");
    if (focus) {
      const link = rows[at].querySelector("a");
      link.focus({ preventScroll: true });
      rows[at].scrollIntoView({ block: "nearest" });
    }
    sessionStorage.setItem(kept, rows[at].dataset.key);
  };
  const before = rows.findIndex((row) => row.dataset.key === sessionStorage.getItem(kept));
  if (before >= 0) go(before, false);
  rows.forEach((row, index) => {
    row.addEventListener("focusin", () => go(index, false));
    row.addEventListener("click", (event) => {
      if (!event.target.closest("a") && !String(getSelection())) row.querySelector("a").click();
    });
  });
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || typing(event.target)) return;
    const search = document.querySelector("[data-search]");
    if (event.key === "/" && search) {
      event.preventDefault();
      search.focus();
      search.select();
    } else if (rows.length && (event.key === "j" || event.key === "ArrowDown")) {
      event.preventDefault();
      go(at + 1, true);
    } else if (rows.length && (event.key === "k" || event.key === "ArrowUp")) {
      event.preventDefault();
      go(at - 1, true);
    } else if (rows.length && event.key === "Enter" && event.target === document.body && at >= 0) {
      rows[at].querySelector("a").click();
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
