"use strict";
// The sketch map: what lies in the visible part is asked for as it moves; the list is followed.
(() => {
  let map, drawn, marked, marker, asked, last;
  let turned = false; // a long town lies down on a wide sheet, with north to the right
  const near = 2.2; // pixels per meter from which laterals bear their ids

  const element = (name, attributes) => {
    const node = document.createElementNS("http://www.w3.org/2000/svg", name);
    for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value);
    return node;
  };
  const shape = (mark, words) => {
    const box = element("svg", { class: "mark", "aria-hidden": "true" });
    box.append(element("use", { href: "#mark-" + mark }));
    const label = document.createElement("span");
    label.append(box, words);
    return label;
  };
  const at = ([x, y]) => (turned ? L.latLng(-x, y) : L.latLng(y, x));

  const arrow = (sideways) => {
    const control = L.control({ position: "topright" });
    control.onAdd = () => {
      const sheet = element("svg", { class: "north", viewBox: "0 0 34 34", role: "img" });
      sheet.setAttribute("aria-label", sideways ? "north is to the right" : "north is up");
      const turn = element("g", sideways ? { transform: "rotate(90 17 17)" } : {});
      turn.append(element("path", { d: "M17 30V10M12 16l5-12 5 12z" }));
      const letter = element("text", sideways ? { x: 3, y: 13 } : { x: 21, y: 31 });
      letter.textContent = "N";
      sheet.append(turn, letter);
      return sheet;
    };
    return control;
  };

  const box = (bounds) =>
    (turned
      ? [-bounds.getNorth(), bounds.getWest(), -bounds.getSouth(), bounds.getEast()]
      : [bounds.getWest(), bounds.getSouth(), bounds.getEast(), bounds.getNorth()])
      .map((one) => one.toFixed(1))
      .join(",");

  const draw = (found, pixels) => {
    drawn.clearLayers();
    for (const one of found.segments) {
      const line = one.line.map(at);
      L.polyline(line, { className: "main-edge", interactive: false }).addTo(drawn);
      L.polyline(line, { className: "main-bore", interactive: false }).addTo(drawn);
      for (const end of [line[0], line[line.length - 1]]) {
        L.circleMarker(end, { className: "manhole", radius: 4, interactive: false }).addTo(drawn);
      }
      if (pixels > 0.25) {
        const middle = line[Math.floor((line.length - 1) / 2)];
        const beside = line[Math.floor((line.length - 1) / 2) + 1];
        const icon = L.divIcon({ className: "main-name", html: shape("none", one.key), iconSize: null });
        const center = L.latLng((middle.lat + beside.lat) / 2, (middle.lng + beside.lng) / 2);
        L.marker(center, { icon, interactive: false, keyboard: false }).addTo(drawn);
      }
    }
    // a name is written where no other mark stands beside or on it
    const ends = found.laterals.map((one) => one.end);
    const crowded = (end) => {
      const here = at(end);
      return ends.some((other) => {
        const there = at(other);
        const across = (there.lng - here.lng) * pixels, up = Math.abs(there.lat - here.lat) * pixels;
        return across > 0.5 && across < 58 && up < 15;
      });
    };
    for (const one of found.laterals) {
      const line = L.polyline(one.line.map(at), { className: "lead lead-" + one.mark });
      line.on("click", () => choose(one.key)).addTo(drawn);
      const words = pixels > near && !crowded(one.end) ? one.key : "";
      const icon = L.divIcon({ className: "lateral-mark", html: shape(one.mark, words), iconSize: null });
      const sign = L.marker(at(one.end), { icon, keyboard: false, title: one.key + ", " + one.words });
      sign.on("click", () => choose(one.key)).addTo(drawn);
    }
    const said = document.querySelector(".legend .drawn");
    if (said) {
      const stubs = found.laterals.filter((one) => one.course === "stub").length;
      const sum = found.laterals.length + " laterals in sight";
      said.textContent = found.hidden ? "Come nearer to see laterals."
        : !stubs ? sum + "."
        : stubs === found.laterals.length ? sum + ", all drawn as stubs of one length."
        : sum + ", " + stubs + " of them drawn as stubs of one length.";
    }
  };

  const choose = (key) => {
    const row = document.querySelector('[data-list] tr[data-key="' + CSS.escape(key) + '"]');
    if (row) row.querySelector("a").focus();
    else location.href = "/laterals/" + encodeURIComponent(key);
  };

  const ask = async () => {
    const node = map.getContainer();
    const bounds = map.getBounds();
    const query = new URLSearchParams(node.dataset.query);
    query.set("box", box(bounds));
    if (String(query) === last) return;
    last = String(query);
    asked?.abort();
    asked = new AbortController();
    try {
      const answer = await fetch("/api/map?" + query, { signal: asked.signal });
      if (!answer.ok) throw new Error(answer.status);
      const found = await answer.json();
      const pixels = map.getSize().x / Math.max(bounds.getEast() - bounds.getWest(), 1e-6);
      draw(found, pixels);
    } catch (error) {
      if (error.name === "AbortError") return;
      last = "";
      const said = document.querySelector(".legend .drawn");
      if (said) said.textContent = "The map can’t be drawn now.";
    }
  };

  const follow = (row) => {
    if (!map || !row?.dataset.place) return;
    const place = at(row.dataset.place.split(",").map(Number));
    if (!marker) {
      marker = L.circleMarker(place, { className: "chosen", radius: 11, interactive: false });
      marker.addTo(marked);
    }
    marker.setLatLng(place);
    if (!map.getBounds().pad(-0.08).contains(place)) map.panTo(place, { animate: false });
  };

  const begin = () => {
    const node = document.getElementById("map");
    if (!node || node.dataset.begun || !window.L) return;
    node.dataset.begun = "yes";
    node.replaceChildren();
    map?.remove();
    last = "";
    map = L.map(node, {
      crs: L.CRS.Simple, attributionControl: false, zoomControl: false, minZoom: -12, maxZoom: 5,
      zoomSnap: 0.25, zoomDelta: 0.75, wheelPxPerZoomLevel: 110, fadeAnimation: false,
      zoomAnimation: false, markerZoomAnimation: false, inertia: false, scrollWheelZoom: false,
    });
    L.control.zoom({
      position: "bottomright", zoomInText: "nearer", zoomOutText: "farther",
      zoomInTitle: "nearer", zoomOutTitle: "farther",
    }).addTo(map);
    L.control.scale({ position: "bottomleft", maxWidth: 130 }).addTo(map);
    drawn = L.layerGroup().addTo(map);
    marked = L.layerGroup().addTo(map);
    marker = undefined;
    const [west, south, east, north] = node.dataset.box.split(",").map(Number);
    const size = map.getSize();
    turned = (north - south) / (east - west) > 1.25 && size.x / size.y > 1.25;
    map.fitBounds([at([west, south]), at([east, north])], { animate: false, padding: [8, 8] });
    arrow(turned).addTo(map);
    map.on("moveend", ask);
    node.addEventListener("focusin", () => map.scrollWheelZoom.enable());
    node.addEventListener("pointerdown", () => map.scrollWheelZoom.enable());
    node.addEventListener("mouseleave", () => map.scrollWheelZoom.disable());
    ask();
    follow(document.querySelector("[data-list] tr.at"));
  };

  document.addEventListener("lateral-marked", (event) => follow(event.detail));
  document.addEventListener("htmx:after:swap", begin);
  begin();
})();
