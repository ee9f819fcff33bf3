// At the heap: what is written down is kept on this phone first, and sent when there is a network: once, in order, without doubles.
(() => {
  "use strict";
  const page = document.querySelector("[data-here]");
  if (!page) return;
  const say = page.dataset;
  const garden = say.garden;
  const STORE = "waiting";

  const open = () => new Promise((resolve, reject) => {
    const ask = indexedDB.open("loamery", 1);
    ask.onupgradeneeded = () => ask.result.createObjectStore(STORE, { keyPath: "number", autoIncrement: true }).createIndex("id", "id", { unique: true });
    ask.onsuccess = () => resolve(ask.result);
    ask.onerror = () => reject(ask.error);
  });
  async function within(mode, work) {
    const db = await open();
    try {
      return await new Promise((resolve, reject) => {
        const act = db.transaction(STORE, mode);
        const ask = work(act.objectStore(STORE));
        act.oncomplete = () => resolve(ask?.result);
        act.onerror = act.onabort = () => reject(act.error);
      });
    } finally { db.close(); }
  }
  const keep = (one) => within("readwrite", (store) => store.put(one));
  const drop = (number) => within("readwrite", (store) => store.delete(number));
  const waiting = async () => (await within("readonly", (store) => store.getAll())).filter((one) => one.garden === garden);

  // Photos are made small enough for a slow network before they are kept.
  async function smaller(file) {
    if (!file || !file.size || !file.type.startsWith("image/")) return null;
    try {
      const picture = await createImageBitmap(file);
      const scale = Math.min(1, 1600 / Math.max(picture.width, picture.height));
      const canvas = document.createElement("canvas");
      canvas.width = Math.round(picture.width * scale);
      canvas.height = Math.round(picture.height * scale);
      canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
      return await new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.85));
    } catch { return file; }
  }

  const net = document.getElementById("net");
  const list = document.getElementById("waiting");
  async function show() {
    const all = await waiting();
    const online = navigator.onLine;
    net.classList.toggle("off", !online);
    net.querySelector(".words").textContent = all.length
      ? (online ? say.wordsSending : say.wordsOff).replace("{count}", String(all.length))
      : (online ? say.wordsReady : say.wordsOffEmpty);
    list.replaceChildren(...all.map((one) => {
      const item = document.createElement("li");
      const text = document.createElement("span");
      text.textContent = one.refused ? `${one.words}: ${one.refused}` : one.words;
      item.append(text);
      if (one.refused) {
        const button = document.createElement("button");
        button.type = "button";
        button.className = "link";
        button.textContent = say.wordsDiscard;
        button.addEventListener("click", async () => { await drop(one.number); show(); });
        item.append(button);
      }
      return item;
    }));
    document.getElementById("waiting-part").hidden = !all.length;
    page.dataset.left = String(all.length);
  }

  // One by one in the order written; a refused one waits for its writer and does not hold up the others.
  async function send() {
    for (const one of (await waiting()).filter((each) => !each.refused)) {
      const body = new FormData();
      body.append("id", one.id);
      body.append("kind", one.kind);
      body.append("made", one.made);
      for (const [name, value] of Object.entries(one.fields)) body.append(name, value);
      if (one.photo) body.append("photo", one.photo, "photo.jpg");
      let answer;
      try {
        const token = await (await fetch(say.token, { credentials: "same-origin", cache: "no-store" })).json();
        answer = await fetch(say.send, { method: "POST", body, credentials: "same-origin", headers: { "X-CSRFToken": token.token } });
      } catch { break; }
      if (answer.ok) await drop(one.number);
      else if (answer.status === 422) await keep({ ...one, refused: (await answer.json()).says });
      else { net.querySelector(".words").textContent = say.wordsLogin; return; }
      await show();
    }
    await show();
  }
  const flush = () => (navigator.locks ? navigator.locks.request("loamery-send", send) : send());

  for (const form of page.querySelectorAll("form[data-kind]")) {
    form.addEventListener("submit", async (event) => {
      event.preventDefault();
      const fields = {};
      let photo = null;
      for (const [name, value] of new FormData(form)) {
        if (value instanceof File) photo = await smaller(value);
        else if (name !== "csrfmiddlewaretoken" && value !== "") fields[name] = value;
      }
      const words = [form.dataset.words, ...[...form.querySelectorAll("select, input[inputmode]")].filter((one) => one.value)
        .map((one) => (one.tagName === "SELECT" ? one.selectedOptions[0].textContent.trim() : `${one.value} ${one.dataset.unit ?? ""}`.trim()))].join(" · ");
      await keep({ id: crypto.randomUUID(), garden, kind: form.dataset.kind, made: new Date().toISOString(), fields, photo, words });
      for (const input of form.querySelectorAll("input[inputmode], input[type=file], textarea")) input.value = "";
      const said = form.querySelector("[role=status]");
      said.textContent = say.wordsKept;
      await show();
      flush();
    });
  }

  // Tabs of the page work without a network, too.
  for (const tab of page.querySelectorAll("[data-tab]")) tab.addEventListener("click", (event) => {
    event.preventDefault();
    for (const one of page.querySelectorAll("[data-tab]")) {
      if (one === tab) one.setAttribute("aria-current", "true"); else one.removeAttribute("aria-current");
      document.getElementById(one.dataset.tab).hidden = one !== tab;
    }
  });
  addEventListener("online", () => { show(); flush(); });
  addEventListener("offline", show);
  document.getElementById("send-now").addEventListener("click", flush);
  setInterval(async () => { if (navigator.onLine && (await waiting()).length) flush(); }, 30000);

  const help = document.getElementById("no-worker");
  if (!("serviceWorker" in navigator)) help.hidden = false;
  else navigator.serviceWorker.register(say.worker, { scope: "/" }).catch(() => { help.hidden = false; });
  show().then(flush);
})();
