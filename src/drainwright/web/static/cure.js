"use strict";
(() => {
  // the time slider: the server worked out every line once, here they are only swapped
  const figure = document.querySelector("[data-cure]");
  if (!figure) return;
  const tape = document.querySelector("[data-tape]");
  const slider = tape.querySelector("input");
  const strips = figure.querySelectorAll(".dw-strip .dw-curve");
  const section = document.querySelectorAll("[data-section] .dw-curve");
  const leaders = document.querySelectorAll("[data-section] .dw-leader");
  const names = document.querySelectorAll("[data-section] .dw-name text");
  fetch(figure.dataset.cure)
    .then((answer) => (answer.ok ? answer.json() : Promise.reject(answer.status)))
    .then((frames) => {
      const show = () => {
        const frame = frames[Number(slider.value)];
        frame.strips.forEach((line, n) => strips[n]?.setAttribute("d", line));
        frame.section.forEach((line, n) => {
          section[n].setAttribute("d", line);
          // the name goes with the end of its line
          const { x, y } = section[n].getPointAtLength(section[n].getTotalLength());
          leaders[n].setAttribute("d", `M${x + 2} ${y}h6`);
          names[n].setAttribute("y", y + 4);
          names[n].textContent = frame.label;
        });
        tape.querySelector("[data-label]").textContent = frame.label;
        slider.setAttribute("aria-valuetext", frame.label);
        document.querySelector("[data-words]").textContent = `${frame.label}: ${frame.words}.`;
      };
      slider.addEventListener("input", show);
      tape.hidden = false;
      show();
    })
    .catch(() => {}); // the still pictures stay
})();
