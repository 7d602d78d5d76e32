"use strict";
(() => {
  const entry = document.querySelector("[data-entry]");
  if (!entry) return;
  const body = entry.querySelector("[data-rows] tbody");
  const typed = entry.querySelector("#typed");
  const draft = document.querySelector("#draft");
  const said = entry.querySelector("[data-said]");
  const words = [...entry.querySelectorAll("#kinds option")].map((one) => one.value);
  const blank = body.lastElementChild.cloneNode(true);
  let current = body.firstElementChild;

  const cells = (row) => [...row.querySelectorAll("td > input:not([type=hidden])")];
  const isEmpty = (row) => cells(row).every((one) => !one.value.trim());
  const enter = (field) => {
    field?.focus();
    field?.select();
  };
  const redraw = () => typed.dispatchEvent(new CustomEvent("redraw"));
  const add = () => {
    const row = blank.cloneNode(true);
    row.querySelectorAll("input").forEach((one) => (one.value = ""));
    row.querySelector("[data-remove]").hidden = false;
    body.append(row);
    return row;
  };
  const remove = (row) => {
    const beside = row.nextElementSibling || row.previousElementSibling || add();
    row.remove();
    cells(beside)[0].focus();
    redraw();
  };

  // blank rows served for pages without script shrink to one
  while (body.rows.length > 1 && isEmpty(body.lastElementChild) && isEmpty(body.lastElementChild.previousElementSibling)) {
    body.lastElementChild.remove();
  }
  entry.querySelectorAll("[data-remove], [data-add], [data-keys], [data-pick]").forEach((one) => (one.hidden = false));
  entry.querySelector("[data-add]").addEventListener("click", () => cells(add())[0].focus());

  // a kind by its first letters, alone or with a grade behind a comma
  const complete = (field) => {
    const text = field.value.trim().toLowerCase();
    if (!text || words.includes(text)) return;
    const [kind, grade] = text.split(",").map((part) => part.trim());
    const fitting = words.filter((one) => {
      const [word, more] = one.split(",").map((part) => part.trim());
      return word.startsWith(kind) && (grade ? more?.startsWith(grade) : !more);
    });
    if (fitting.length !== 1) return;
    field.value = fitting[0];
    field.dispatchEvent(new Event("input", { bubbles: true }));
  };

  entry.addEventListener("keydown", (event) => {
    const row = event.target.closest("[data-rows] tr");
    if (!row || event.target.tagName !== "INPUT") {
      if (event.key === "Enter" && event.target.closest(".about") && event.target.tagName === "INPUT") {
        event.preventDefault();
        const fields = [...entry.querySelectorAll(".about input, .about select")];
        (fields[fields.indexOf(event.target) + 1] || cells(body.firstElementChild)[0]).focus();
      }
      return;
    }
    const fields = cells(row);
    const at = fields.indexOf(event.target);
    if (event.key === "Enter") {
      event.preventDefault();
      if (event.target.name === "kind") complete(event.target);
      if (event.shiftKey) {
        const before = row.previousElementSibling;
        enter(fields[at - 1] || (before && cells(before).at(-1)));
      } else {
        enter(fields[at + 1] || cells(row.nextElementSibling || add())[0]);
      }
    } else if ((event.key === "ArrowDown" || event.key === "ArrowUp") && event.target.name !== "kind") {
      const other = event.key === "ArrowDown" ? row.nextElementSibling : row.previousElementSibling;
      if (other) {
        event.preventDefault();
        enter(cells(other)[at]);
      }
    } else if (event.key === "Delete" && event.ctrlKey) {
      event.preventDefault();
      remove(row);
    }
  });
  body.addEventListener("focusout", (event) => {
    if (event.target.name === "kind") complete(event.target);
  });
  body.addEventListener("click", (event) => {
    if (event.target.closest("[data-remove]")) remove(event.target.closest("tr"));
  });

  // a row, its flag and what is odd about it light up together
  const light = () => {
    const rows = [...body.rows];
    const at = rows.indexOf(current);
    const drawn = draft.querySelector("[data-drawn]");
    const shown = (drawn?.dataset.rows || "").split(",").filter(Boolean).map(Number);
    rows.forEach((row) => row.classList.toggle("lit", row === current));
    drawn?.querySelectorAll("[data-row]").forEach((flag) =>
      flag.classList.toggle("lit", flag.dataset.row.split(",").some((n) => shown[Number(n)] === at))
    );
    draft.querySelectorAll("[data-odd]").forEach((one) => one.classList.toggle("lit", Number(one.dataset.odd) === at));
  };
  body.addEventListener("focusin", (event) => {
    current = event.target.closest("tr");
    light();
  });
  draft.addEventListener("click", (event) => {
    const drawn = event.target.closest("[data-drawn]");
    const flag = event.target.closest("[data-row]");
    const odd = event.target.closest("[data-odd]");
    const shown = (drawn?.dataset.rows || "").split(",").map(Number);
    const at = odd ? Number(odd.dataset.odd) : flag ? shown[Number(flag.dataset.row.split(",")[0])] : -1;
    if (body.rows[at]) (body.rows[at].querySelector(`[name="${odd?.dataset.column}"]`) || cells(body.rows[at])[0]).focus();
  });

  // after each drawing: mark what is wrong in the grid
  const mark = () => {
    body.querySelectorAll("[aria-invalid]").forEach((one) => one.removeAttribute("aria-invalid"));
    draft.querySelectorAll("[data-wrong]").forEach((one) => {
      const field = body.rows[Number(one.dataset.odd)]?.querySelector(`[name="${one.dataset.column}"]`);
      field?.setAttribute("aria-invalid", "true");
    });
    light();
  };
  new MutationObserver(mark).observe(draft, { childList: true });
  mark();

  // stills: dropped onto a row or a distance, or picked for the row in hand
  const keep = async (file, row) => {
    if (!file || !row) return;
    said.textContent = `Keeping ${file.name} …`;
    const answer = await fetch(`${draft.dataset.still}?name=${encodeURIComponent(file.name)}`, { method: "POST", body: file });
    if (!answer.ok) {
      said.textContent = `${file.name} was not kept: only pictures up to 32 MiB are.`;
      return;
    }
    const kept = await answer.json();
    row.querySelector('[name="still"]').value = kept.sha256;
    row.querySelectorAll(".still a").forEach((one) => one.remove());
    const link = document.createElement("a");
    link.href = draft.dataset.stills + kept.sha256;
    link.textContent = "still";
    row.querySelector(".still").append(link);
    said.textContent = `${file.name} stands at row ${[...body.rows].indexOf(row) + 1}.`;
    redraw();
  };
  const rowAt = (event) => {
    const row = event.target.closest("[data-rows] tbody tr");
    if (row) return row;
    const drawn = event.target.closest("[data-drawn]");
    const svg = drawn?.querySelector("svg");
    if (!svg) return null;
    const x = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse()).x;
    const distance = Math.max((x - Number(drawn.dataset.zero)) / Number(drawn.dataset.scale), 0);
    const near = [...body.rows]
      .filter((one) => cells(one)[0].value.trim())
      .map((one) => [Math.abs(parseFloat(cells(one)[0].value) - distance), one])
      .sort((a, b) => a[0] - b[0])[0];
    if (near && near[0] * Number(drawn.dataset.scale) < 14) return near[1];
    const made = isEmpty(body.lastElementChild) ? body.lastElementChild : add();
    cells(made)[0].value = distance.toFixed(1);
    cells(made)[2].value = "remark";
    cells(made).at(-1).value = "still";
    add();
    return made;
  };
  entry.addEventListener("dragover", (event) => {
    if ([...event.dataTransfer.types].includes("Files")) event.preventDefault();
  });
  entry.addEventListener("drop", (event) => {
    if (!event.dataTransfer.files.length) return;
    event.preventDefault();
    keep(event.dataTransfer.files[0], rowAt(event) || current);
  });
  entry.querySelector("[data-pick] input").addEventListener("change", (event) => {
    keep(event.target.files[0], current);
    event.target.value = "";
  });
})();
