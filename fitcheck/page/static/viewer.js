// A photograph enlarged: by two fingers, a double tap, the wheel, the buttons, or the keyboard.
"use strict";
(() => {
  const MOST = 24, STEP = 1.6;

  class Viewer {
    constructor(figure) {
      this.figure = figure;
      this.svg = figure.querySelector("svg");
      this.image = figure.querySelector("image");
      this.wide = Number(figure.dataset.wide);
      this.high = Number(figure.dataset.high);
      this.zoom = 1; this.u = this.wide / 2; this.v = this.high / 2;
      this.fingers = new Map();
      const area = figure.querySelector(".window");
      area.addEventListener("pointerdown", (event) => this.down(event));
      area.addEventListener("pointermove", (event) => this.move(event));
      for (const name of ["pointerup", "pointercancel"]) area.addEventListener(name, (event) => this.up(event));
      area.addEventListener("wheel", (event) => { if (event.ctrlKey || event.metaKey) { event.preventDefault(); this.by(event.deltaY < 0 ? STEP : 1 / STEP, this.at(event)); } }, { passive: false });
      area.addEventListener("dblclick", (event) => this.by(this.zoom > 3 ? 1 / this.zoom : 3, this.at(event)));
      area.addEventListener("keydown", (event) => this.key(event));
      const tools = figure.querySelector(".tools");
      tools.hidden = false;
      tools.addEventListener("click", (event) => {
        const button = event.target.closest("button");
        if (!button) return;
        if (button.dataset.go) return this.go(...button.dataset.go.split(",").map(Number));
        if (button.dataset.zoom === "whole") { this.zoom = 1; this.u = this.wide / 2; this.v = this.high / 2; return this.show(); }
        this.by(button.dataset.zoom === "in" ? STEP : 1 / STEP);
      });
      this.show();
    }

    // The place of an event in the photograph's pixels.
    at(event) {
      const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.svg.getScreenCTM().inverse());
      return { u: point.x, v: point.y };
    }

    by(times, about = { u: this.u, v: this.v }) {
      const zoom = Math.min(MOST, Math.max(1, this.zoom * times));
      const kept = this.zoom / zoom;
      this.u = about.u + (this.u - about.u) * kept;
      this.v = about.v + (this.v - about.v) * kept;
      this.zoom = zoom;
      this.show();
    }

    go(u, v, zoom = 6) { this.u = u; this.v = v; this.zoom = zoom; this.show(); }

    show() {
      const wide = this.wide / this.zoom, high = this.high / this.zoom;
      this.u = Math.min(this.wide - wide / 2, Math.max(wide / 2, this.u));
      this.v = Math.min(this.high - high / 2, Math.max(high / 2, this.v));
      this.svg.setAttribute("viewBox", `${this.u - wide / 2} ${this.v - high / 2} ${wide} ${high}`);
      this.label(wide / 18);
      for (const ring of this.svg.querySelectorAll(".worst")) ring.setAttribute("r", wide / 16);
      if (this.zoom > 1.4) this.sharpen();
      this.figure.classList.toggle("near", this.zoom > 1);
    }

    // The whole picture, in the place of the small one that came first.
    sharpen() {
      if (!this.figure.dataset.full) return;
      this.image.setAttribute("href", this.figure.dataset.full);
      delete this.figure.dataset.full;
    }

    // Words as large as ever, those of the deepest cuts first; what would lie over another is left out until it has room.
    label(size) {
      const taken = [];
      for (const label of this.svg.querySelectorAll(".label")) {
        label.setAttribute("font-size", size);
        if (label.dataset.u) this.keepIn(label);
        const box = label.getBBox();
        const clear = taken.every((other) => box.x > other.x + other.width || box.x + box.width < other.x || box.y > other.y + other.height || box.y + box.height < other.y);
        label.classList.toggle("hidden", !clear);
        if (clear) taken.push(box);
      }
    }

    // The words of a place that is in sight are in sight too, whole where they have room.
    keepIn(label) {
      label.dataset.x ??= label.getAttribute("x");
      label.dataset.y ??= label.getAttribute("y");
      const put = (x, y) => { label.setAttribute("x", x); label.setAttribute("y", y); };
      put(label.dataset.x, label.dataset.y);
      const wide = this.wide / this.zoom, high = this.high / this.zoom;
      const left = this.u - wide / 2, top = this.v - high / 2, u = Number(label.dataset.u), v = Number(label.dataset.v);
      if (u < left || u > left + wide || v < top || v > top + high) return;
      const box = label.getBBox();
      const off = (low, size, start, room) => Math.max(start - low, 0) || Math.min(start + room - low - size, 0);
      put(Number(label.dataset.x) + off(box.x, box.width, left, wide), Number(label.dataset.y) + off(box.y, box.height, top, high));
    }

    down(event) {
      if (event.button) return;
      this.fingers.set(event.pointerId, event);
      if (this.zoom > 1 || this.fingers.size > 1) event.currentTarget.setPointerCapture(event.pointerId);
    }

    move(event) {
      const before = this.fingers.get(event.pointerId);
      if (!before) return;
      if (this.fingers.size === 1 && this.zoom > 1 && !this.pointing) {
        const from = this.at(before), to = this.at(event);
        this.u += from.u - to.u; this.v += from.v - to.v;
        this.show();
      } else if (this.fingers.size === 2) {
        const other = [...this.fingers.values()].find((one) => one.pointerId !== event.pointerId);
        const gap = (one) => Math.hypot(one.clientX - other.clientX, one.clientY - other.clientY);
        const middle = { clientX: (event.clientX + other.clientX) / 2, clientY: (event.clientY + other.clientY) / 2 };
        if (gap(before) > 8) this.by(gap(event) / gap(before), this.at(middle));
      }
      this.fingers.set(event.pointerId, event);
    }

    up(event) { this.fingers.delete(event.pointerId); }

    key(event) {
      const step = { u: this.wide / this.zoom / 6, v: this.high / this.zoom / 6 };
      const does = {
        "+": () => this.by(STEP), "=": () => this.by(STEP), "-": () => this.by(1 / STEP), "0": () => this.by(1 / this.zoom),
        ArrowLeft: () => { this.u -= step.u; this.show(); }, ArrowRight: () => { this.u += step.u; this.show(); },
        ArrowUp: () => { this.v -= step.v; this.show(); }, ArrowDown: () => { this.v += step.v; this.show(); },
      }[event.key];
      if (!does || event.ctrlKey || event.altKey || event.metaKey) return;
      if (event.key.startsWith("Arrow") && this.zoom === 1) return;
      event.preventDefault();
      does();
    }
  }

  window.viewers = new Map([...document.querySelectorAll(".viewer")].map((figure) => [figure.id, new Viewer(figure)]));
})();
