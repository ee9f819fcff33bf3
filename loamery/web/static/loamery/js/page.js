// What every page needs: the sheet that says where a number comes from, and small comforts. Works without it, only with more clicks.
(() => {
  "use strict";
  const origin = document.getElementById("origin");
  let asked = null;

  async function show(url) {
    const body = origin.querySelector(".body");
    body.setAttribute("aria-busy", "true");
    try {
      const answer = await fetch(url, { headers: { "HX-Request": "true" }, credentials: "same-origin" });
      if (!answer.ok) throw new Error(String(answer.status));
      body.innerHTML = await answer.text();
    } catch {
      location.href = url;
      return;
    }
    body.removeAttribute("aria-busy");
    body.scrollTop = 0;
    if (!origin.open) origin.showModal();
    origin.querySelector("h2")?.focus();
  }

  document.addEventListener("click", (event) => {
    const link = event.target.closest("a.why");
    if (!link || !origin || event.metaKey || event.ctrlKey || event.shiftKey) return;
    event.preventDefault();
    if (!origin.contains(link)) asked = link;
    show(link.href);
  });

  if (origin) {
    origin.querySelector(".close").addEventListener("click", () => origin.close());
    origin.addEventListener("click", (event) => { if (event.target === origin) origin.close(); });
    origin.addEventListener("close", () => asked?.focus());
  }

  // A form that asks before something grave says so in its own words.
  document.addEventListener("submit", (event) => {
    const words = event.target.dataset?.ask;
    if (words && !window.confirm(words)) event.preventDefault();
  });

  // Choices that show other fields: <select data-shows="name"> shows every [data-when~="name=value"].
  function reveal(select) {
    for (const one of document.querySelectorAll(`[data-when^="${select.dataset.shows}="]`)) {
      const wanted = one.dataset.when.split("=")[1].split(",");
      const off = !wanted.includes(select.value);
      one.hidden = off;
      for (const input of one.querySelectorAll("input, select, textarea")) input.disabled = off;
    }
  }
  for (const select of document.querySelectorAll("select[data-shows]")) {
    select.addEventListener("change", () => reveal(select));
    reveal(select);
  }

  // Select lists that go somewhere, and forms that send themselves; a button does it where there is no script.
  for (const one of document.querySelectorAll("form[data-sends]")) {
    one.querySelector("button")?.classList.add("hidden");
    one.addEventListener("change", () => one.requestSubmit());
  }
  document.querySelector(".weeks [aria-current]")?.scrollIntoView({ block: "nearest", inline: "center" });
  for (const button of document.querySelectorAll("[data-prints]")) button.addEventListener("click", () => window.print());
})();
