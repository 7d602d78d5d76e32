"use strict";
(() => {
  // the read-out: pointing at a distance of the profile, or walking along it with the arrow keys
  const figure = document.querySelector("[data-along]");
  const told = document.querySelector("[data-readout]");
  const svg = figure?.querySelector("svg");
  if (!figure || !told || !svg) return;
  const names = told.querySelectorAll("dt");
  const values = told.querySelectorAll("dd");
  let along = null;
  let at = -1;
  const hair = document.createElementNS(svg.namespaceURI, "line");
  hair.setAttribute("class", "dw-hair");
  hair.setAttribute("visibility", "hidden");
  svg.append(hair);
  const show = (index) => {
    at = Math.min(Math.max(index, 0), along.x.length - 1);
    for (const [name, value] of [["x1", along.x[at]], ["x2", along.x[at]], ["y1", along.top], ["y2", along.bottom]]) {
      hair.setAttribute(name, value);
    }
    hair.setAttribute("visibility", "visible");
    along.names.forEach((name, n) => {
      if (!names[n]) return;
      names[n].parentElement.hidden = false;
      names[n].textContent = name;
      values[n].textContent = along.rows[at][n];
    });
  };
  const nearest = (x) => {
    let best = 0;
    along.x.forEach((place, n) => {
      if (Math.abs(place - x) < Math.abs(along.x[best] - x)) best = n;
    });
    return best;
  };
  const keys = { ArrowRight: 1, ArrowLeft: -1, PageDown: 10, PageUp: -10 };
  const begin = (data) => {
    along = data;
    told.hidden = false;
    svg.addEventListener("pointermove", (event) => {
      const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
      show(nearest(point.x));
    });
    figure.addEventListener("focus", () => show(at < 0 ? 0 : at));
    figure.addEventListener("keydown", (event) => {
      if (event.ctrlKey || event.metaKey || event.altKey || event.target !== figure) return;
      const to =
        event.key in keys ? at + keys[event.key]
        : event.key === "Home" ? 0
        : event.key === "End" ? along.x.length - 1
        : null;
      if (to === null) return;
      event.preventDefault();
      show(to);
      const share = along.x[at] / svg.viewBox.baseVal.width;
      figure.scrollLeft = share * figure.scrollWidth - figure.clientWidth / 2;
    });
  };
  fetch(figure.dataset.along)
    .then((answer) => (answer.ok ? answer.json() : Promise.reject(answer.status)))
    .then(begin)
    .catch(() => {}); // the drawing stays as it is
})();
