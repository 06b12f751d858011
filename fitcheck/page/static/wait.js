// Waits for a job, says how far it is, and opens its answer when it is there.
"use strict";
(() => {
  const waiting = document.getElementById("waiting");
  if (!waiting) return;
  const words = document.getElementById("waiting-words"), bar = document.getElementById("done");
  const path = `/job/${waiting.dataset.job}`;
  let pause = 400;

  async function look() {
    try {
      const answer = await fetch(`${path}/state`, { headers: { accept: "application/json" } });
      if (!answer.ok) throw new Error(String(answer.status));
      const found = await answer.json();
      if (!["waiting", "measuring", "recording"].includes(found.state)) return location.replace(path);
      const said = `${found.words[0].toUpperCase()}${found.words.slice(1)}.`;
      if (words.textContent !== said) words.textContent = said;
      if (found.share) bar.value = found.share;
      pause = document.hidden ? 3000 : 400;
    } catch {
      words.textContent = "The laptop cannot be reached. Trying again.";
      pause = Math.min(10000, pause * 2);
    }
    setTimeout(look, pause);
  }
  setTimeout(look, pause);
})();
