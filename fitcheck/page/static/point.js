// What was taken wrongly is put right: a tap along the right edge or line, under a magnifier, and it is measured again.
"use strict";
(() => {
  const LENS = 7; // times the picture as it lies in the window

  for (const form of document.querySelectorAll("form.point")) {
    const viewer = window.viewers && window.viewers.get(form.dataset.viewer);
    if (!viewer) continue;
    const area = viewer.figure.querySelector(".window"), svg = viewer.svg;
    const status = form.querySelector("[role=status]"), again = form.querySelector("button[type=submit]");
    const marks = { edge: [], line: [] };
    const names = { edge: "the plank's edge", line: form.dataset.line };
    let kind = null;

    const lens = area.appendChild(document.createElement("div"));
    lens.className = "lens"; lens.hidden = true; lens.setAttribute("aria-hidden", "true");
    const near = lens.appendChild(svg.cloneNode(false));
    near.removeAttribute("role"); near.removeAttribute("aria-label");
    const layer = svg.appendChild(document.createElementNS(svg.namespaceURI, "g"));

    form.addEventListener("change", (event) => {
      if (event.target.name !== "what") return;
      kind = event.target.value;
      viewer.pointing = true;
      area.classList.add("pointing");
      if (viewer.zoom === 1) viewer.by(1.0001);
      status.textContent = `Touch the picture along ${names[kind]}. With a keyboard: move the picture until the cross is on it, then Enter.`;
      area.focus({ preventScroll: true });
      viewer.figure.scrollIntoView({ block: "nearest" });
      show();
    });

    area.addEventListener("pointerdown", (event) => { if (kind && event.isPrimary) { area.setPointerCapture(event.pointerId); look(event); } });
    area.addEventListener("pointermove", (event) => { if (kind && event.isPrimary && !lens.hidden) look(event); });
    area.addEventListener("pointercancel", () => { lens.hidden = true; });
    area.addEventListener("pointerup", (event) => {
      if (!kind || !event.isPrimary || lens.hidden) return;
      lens.hidden = true;
      if (viewer.fingers.size === 0 || viewer.single !== false) add(viewer.at(event));
    });
    area.addEventListener("keydown", (event) => {
      if (kind && event.key === "Enter") { event.preventDefault(); add({ u: viewer.u, v: viewer.v }); }
    });
    form.querySelector("[data-back]").addEventListener("click", () => { if (kind) marks[kind].pop(); show(); });

    function look(event) {
      if (viewer.fingers.size > 1) { lens.hidden = true; return; }
      const { u, v } = viewer.at(event);
      const wide = viewer.wide / viewer.zoom / LENS;
      near.replaceChildren(...[...svg.children].filter((one) => one.tagName !== "defs").map((one) => one.cloneNode(true)), cross(u, v, wide / 3));
      near.setAttribute("viewBox", `${u - wide / 2} ${v - wide / 2} ${wide} ${wide}`);
      const box = area.getBoundingClientRect();
      lens.classList.toggle("right", event.clientX < box.left + box.width / 2);
      lens.hidden = false;
      viewer.sharpen();
    }

    function add({ u, v }) {
      if (u < 0 || v < 0 || u > viewer.wide - 1 || v > viewer.high - 1) return;
      marks[kind].push([Math.round(u * 10) / 10, Math.round(v * 10) / 10]);
      show();
    }

    function cross(u, v, size) {
      const path = document.createElementNS(svg.namespaceURI, "path");
      path.setAttribute("d", `M${u - size} ${v}H${u + size}M${u} ${v - size}V${v + size}`);
      path.setAttribute("class", "cross");
      return path;
    }

    function show() {
      layer.replaceChildren(...["edge", "line"].flatMap((one) => marks[one].map(([u, v]) => {
        const path = cross(u, v, viewer.wide / 60);
        path.classList.add(one);
        return path;
      })));
      for (const one of ["edge", "line"]) form.elements[`${one}_at`].value = marks[one].map((place) => place.join(",")).join(" ");
      const told = ["edge", "line"].filter((one) => marks[one].length).map((one) => `${marks[one].length} on ${names[one]}`);
      again.disabled = !told.length;
      if (told.length) status.textContent = `Marked: ${told.join(", ")}.`;
    }
  }
})();
