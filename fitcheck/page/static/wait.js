// Waits for a job, says how far it is, and opens its answer when it is there.
"use strict";
(() => {
  const waiting = document.getElementById("waiting");
  if (!waiting) return;
  const words = document.getElementById("waiting-words"), bar = document.getElementById("done");
  const path = `/job/${waiting.dataset.job}`;
  let pause = 400;

  // The frame of the camera that is calibrated, as it is covered.
  function grow(seen) {
    const frame = document.getElementById("frame");
    if (!frame) return;
    const make = (name, told) => {
      const one = document.createElementNS(frame.namespaceURI, name);
      for (const [key, value] of Object.entries(told)) one.setAttribute(key, value);
      return one;
    };
    frame.setAttribute("viewBox", `0 0 ${seen.wide_px} ${seen.high_px}`);
    const high = seen.high_px / Math.max(1, seen.cells.length);
    frame.replaceChildren(
      ...seen.cells.flatMap((row, down) => row.map((count, across) => {
        const width = seen.wide_px / row.length;
        return make("rect", { class: count ? "seen" : "unseen-cell", x: across * width, y: down * high, width, height: high });
      })),
      ...seen.boards.map((board) => make("polygon", { class: "board", points: board.map((at) => at.join(",")).join(" ") })),
    );
    const words = frame.parentElement.querySelector("figcaption"), share = Math.round(100 * seen.covered);
    words.textContent = `The board was seen in ${share} % of the frame, in ${seen.used} photograph${seen.used === 1 ? "" : "s"}.`;
  }

  async function look() {
    try {
      const answer = await fetch(`${path}/state`, { headers: { accept: "application/json" } });
      if (!answer.ok) throw new Error(String(answer.status));
      const found = await answer.json();
      if (!["waiting", "measuring", "recording"].includes(found.state)) return location.replace(path);
      const said = `${found.words[0].toUpperCase()}${found.words.slice(1)}.`;
      if (words.textContent !== said) words.textContent = said;
      if (found.share) bar.value = found.share;
      if (found.grown) grow(found.grown);
      pause = document.hidden ? 3000 : 400;
    } catch {
      words.textContent = "The laptop cannot be reached. Trying again.";
      pause = Math.min(10000, pause * 2);
    }
    setTimeout(look, pause);
  }
  setTimeout(look, pause);
})();
