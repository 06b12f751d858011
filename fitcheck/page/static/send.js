// Photographs sent one by one, so that a lost connection loses one at the most, and that one is sent again.
"use strict";
(() => {
  const form = document.getElementById("photograph");
  if (!form) return;
  const at = (id) => document.getElementById(id);
  const files = at("photos"), sending = at("sending"), bar = at("sent"), words = at("sending-words"), trouble = at("trouble");
  const mark = form.elements.mark.value, most = Number(form.dataset.most);
  let job = null, next = 0, asked = null, stopped = false;

  const say = (text) => { words.textContent = text; };
  const tell = (text) => { trouble.textContent = text; trouble.hidden = !text; if (text) trouble.scrollIntoView({ block: "nearest" }); };

  files.addEventListener("change", () => {
    const count = files.files.length;
    at("chosen").textContent = count > most ? `${count} chosen: at most ${most} are measured together.`
      : count ? `${count} photograph${count === 1 ? "" : "s"} chosen.` : "None chosen yet.";
  });

  form.addEventListener("submit", (event) => {
    event.preventDefault();
    if (!files.files.length) return tell("Choose a photograph first.");
    if (files.files.length > most) return tell(`At most ${most} photographs are measured together.`);
    stopped = false; next = 0;
    run();
  });
  at("retry").addEventListener("click", run);
  at("stop").addEventListener("click", async () => {
    stopped = true;
    if (asked) asked.abort();
    if (job) await post(`/job/${job}/cancel`, {}).catch(() => {});
    location.assign(form.dataset.back);
  });

  async function run() {
    tell(""); at("retry").hidden = true; form.hidden = true; sending.hidden = false; at("sending-head").focus();
    try {
      if (!job) {
        const told = Object.fromEntries([...new FormData(form)].filter(([, value]) => typeof value === "string"));
        job = (await post(form.dataset.open, told)).job;
      }
      while (next < files.files.length && !stopped) {
        await sendOne(files.files[next]);
        next += 1;
      }
      if (stopped) return;
      say("All sent.");
      await post(`/job/${job}/send`, {});
      location.assign(`/job/${job}`);
    } catch (error) {
      if (stopped) return;
      tell(error.message);
      if (error.again) { at("retry").hidden = false; say("Nothing that came is lost."); }
      else { form.hidden = false; sending.hidden = true; }
    }
  }

  async function post(path, fields) {
    let answer;
    try {
      answer = await fetch(path, { method: "POST", headers: { accept: "application/json" }, body: new URLSearchParams({ mark, ...fields }) });
    } catch { throw lost(); }
    const said = await answer.json().catch(() => ({ trouble: `the page could not answer (${answer.status})` }));
    if (!answer.ok) throw new Error(said.trouble || `the page could not answer (${answer.status})`);
    return said;
  }

  function sendOne(file) {
    return new Promise((done, failed) => {
      asked = new XMLHttpRequest();
      asked.open("POST", `/job/${job}/photo`);
      asked.setRequestHeader("x-fitcheck-form", mark);
      asked.setRequestHeader("content-type", "application/octet-stream");
      asked.timeout = 180000;
      asked.upload.onprogress = (event) => show(event.lengthComputable ? event.loaded / event.total : 0);
      asked.onload = () => {
        if (asked.status < 300) return done();
        let said = {};
        try { said = JSON.parse(asked.responseText); } catch { /* told by its status */ }
        const error = new Error(said.trouble || `the page could not answer (${asked.status})`);
        error.again = [408, 429, 503, 507].includes(asked.status);
        failed(error);
      };
      asked.onerror = asked.ontimeout = () => failed(lost());
      show(0);
      asked.send(file);
    });
  }

  function show(share) {
    const count = files.files.length;
    bar.value = (next + share) / count;
    say(`Photograph ${next + 1} of ${count}: ${Math.round(100 * share)} %`);
  }

  function lost() {
    const error = new Error("The connection to the laptop was lost. Come nearer to the network, then send the rest.");
    error.again = true;
    return error;
  }
})();
