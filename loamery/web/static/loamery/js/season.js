// The season that can be changed: drag a bar up or down for its amount, sideways for its week; arrow keys do the same.
(() => {
  "use strict";
  const board = document.querySelector("[data-season]");
  if (!board) return;
  const svg = board.querySelector("svg");
  const form = document.getElementById("changes");
  const set = JSON.parse(document.getElementById("season-facts").textContent);
  const levers = [...svg.querySelectorAll(".lever")];
  // On a narrow screen the picture is laid out anew: names above their rows, all weeks in the width there is.
  const NARROW = 620, NAME = 16, FINGER = 14;
  function fold() {
    const room = Math.floor(board.clientWidth - 24), box = svg.viewBox.baseVal;
    if (room > NARROW) return;
    const week = room / set.weeks.length, was = set.week, gutter = set.gutter;
    const moved = (x) => (x < gutter ? 0 : ((x - gutter) * week) / was);
    for (const one of svg.querySelectorAll("rect, line, text")) {
      if (one.matches(".row-name")) { one.setAttribute("y", Number(one.getAttribute("y")) - NAME); continue; }
      if (one.matches("g.row > .rule")) {
        one.setAttribute("x2", room);
        for (const name of ["y1", "y2"]) one.setAttribute(name, Number(one.getAttribute(name)) - NAME);
        continue;
      }
      for (const name of ["x", "x1", "x2"]) if (one.hasAttribute(name)) one.setAttribute(name, moved(Number(one.getAttribute(name))));
      if (one.tagName === "rect") one.setAttribute("width", Math.max(one.matches(".reach") ? FINGER : 1, (Number(one.getAttribute("width")) * week) / was));
      if (one.matches(".crop-text, .letters, .batch + text, .soft-text")) one.classList.add("folded");
    }
    const rows = [...svg.querySelectorAll("g.row")];
    rows.forEach((row, at) => row.setAttribute("transform", `translate(0 ${(at + 1) * NAME})`));
    const height = box.height + (rows.length + 1) * NAME;
    svg.setAttribute("viewBox", `0 0 ${room} ${height}`);
    svg.setAttribute("width", room);
    svg.setAttribute("height", height);
    for (const line of svg.querySelectorAll(":scope > line")) line.setAttribute("y2", height);
    for (const lever of levers) lever.dataset.shift = String((Number(lever.dataset.shift) * week) / was);
    Object.assign(set, { week, gutter: 0 });
    board.classList.add("narrow");
  }
  fold();
  let chosen = null;
  let timer = 0;
  const touched = new Set(levers.filter((lever) => lever.classList.contains("moved")));

  const heightOf = (kg) => Math.max(set.least, Math.min(set.tall, set.scale * Math.sqrt(kg)));
  const kgOf = (height) => (height <= set.least ? 0 : (height / set.scale) ** 2);
  const read = (lever) => ({ kg: Number(lever.dataset.kg), week: Number(lever.dataset.week) });
  const field = (lever, what) => form.elements[`${what}-${lever.dataset.index}`];
  const shown = (kg) => new Intl.NumberFormat(document.documentElement.lang, { maximumFractionDigits: kg * set.factor < 10 ? 1 : 0 }).format(kg * set.factor);

  function place(lever) {
    const { kg, week } = read(lever);
    const bar = lever.querySelector("rect.bar");
    const tall = heightOf(kg);
    const x = set.gutter + week * set.week + Number(lever.dataset.shift);
    bar.setAttribute("x", x);
    bar.setAttribute("y", Number(lever.dataset.floor) - tall);
    bar.setAttribute("height", tall);
    const reach = lever.querySelector("rect.reach");
    reach.setAttribute("x", x - 2);
    const letters = lever.querySelector(".letters");
    letters.setAttribute("x", x + Number(bar.getAttribute("width")) / 2);
    lever.setAttribute("aria-valuenow", (kg * set.factor).toFixed(1));
    lever.setAttribute("aria-valuetext", `${shown(kg)} ${set.unit}, ${set.weeks[week]}`);
    const moved = Math.abs(kg - Number(lever.dataset.kgWas)) > 0.05 || week !== Number(lever.dataset.weekWas);
    lever.classList.toggle("moved", moved);
    const amount = field(lever, "kg"), when = field(lever, "week");
    if (amount) amount.value = (kg * set.factor).toFixed(1);
    if (when) when.value = String(week + 1);
    amount?.closest("tr")?.classList.toggle("changed", moved);
  }

  function ask() {
    clearTimeout(timer);
    timer = setTimeout(() => htmx.trigger(form, "changed"), 120);
  }

  function change(lever, kg, week, settled = true) {
    const limit = (at) => Math.max(0, Math.min(set.weeks.length - 1, at));
    lever.dataset.kg = String(Math.max(0, kg));
    lever.dataset.week = String(limit(week));
    touched.add(lever);
    place(lever);
    choose(lever);
    if (settled) ask();
  }

  const box = document.getElementById("lever-box");
  function choose(lever) {
    chosen = lever;
    for (const one of levers) one.classList.toggle("chosen", one === lever);
    box.hidden = false;
    box.querySelector(".of").textContent = lever.dataset.words;
    box.querySelector(".now").textContent = lever.getAttribute("aria-valuetext");
    const slide = box.querySelector("input[type=range]");
    slide.max = String(Math.max(10, Math.ceil(Number(lever.dataset.kgWas) * set.factor * 2)));
    slide.value = String(Number(lever.dataset.kg) * set.factor);
  }
  box.querySelector("input[type=range]").addEventListener("input", (event) => {
    if (chosen) change(chosen, Number(event.target.value) / set.factor, Number(chosen.dataset.week));
  });
  for (const button of box.querySelectorAll("[data-step]"))
    button.addEventListener("click", () => chosen && change(chosen, Number(chosen.dataset.kg), Number(chosen.dataset.week) + Number(button.dataset.step)));
  box.querySelector("[data-undo]").addEventListener("click", () => chosen && change(chosen, Number(chosen.dataset.kgWas), Number(chosen.dataset.weekWas)));

  for (const lever of levers) {
    place(lever);
    lever.addEventListener("focus", () => choose(lever));
    lever.addEventListener("keydown", (event) => {
      const { kg, week } = read(lever);
      const step = set.step * (event.shiftKey ? 5 : 1);
      const to = { ArrowUp: [kg + step, week], ArrowDown: [kg - step, week], ArrowLeft: [kg, week - 1], ArrowRight: [kg, week + 1],
        PageUp: [kg + 5 * step, week], PageDown: [kg - 5 * step, week], Home: [0, week], Delete: [0, week] }[event.key];
      if (!to) return;
      event.preventDefault();
      change(lever, ...to);
    });
    lever.addEventListener("pointerdown", (event) => {
      const from = { x: event.clientX, y: event.clientY, ...read(lever), height: heightOf(Number(lever.dataset.kg)) };
      const zoom = svg.viewBox.baseVal.width / svg.getBoundingClientRect().width;
      let way = "";
      choose(lever);
      lever.setPointerCapture(event.pointerId);
      const move = (at) => {
        const dx = (at.clientX - from.x) * zoom, dy = (at.clientY - from.y) * zoom;
        if (!way && Math.hypot(dx, dy) > 5) { way = Math.abs(dx) > Math.abs(dy) ? "week" : "kg"; lever.classList.add("dragged"); }
        if (way === "week") change(lever, from.kg, from.week + Math.round(dx / set.week), false);
        if (way === "kg") change(lever, kgOf(from.height - dy), from.week, false);
      };
      const drop = () => {
        lever.removeEventListener("pointermove", move);
        lever.classList.remove("dragged");
        if (way) ask(); else lever.focus();
      };
      lever.addEventListener("pointermove", move);
      lever.addEventListener("pointerup", drop, { once: true });
      lever.addEventListener("pointercancel", drop, { once: true });
    });
  }
  // Whatever bed the fields below belong to: every bar that was touched is told.
  form.addEventListener("htmx:configRequest", (event) => {
    const sent = event.detail.formData;
    for (const name of [...sent.keys()]) if (/^(kg|week)-/.test(name)) sent.delete(name);
    for (const lever of touched) {
      sent.set(`kg-${lever.dataset.index}`, String(Number(lever.dataset.kg) * set.factor));
      sent.set(`week-${lever.dataset.index}`, String(Number(lever.dataset.week) + 1));
    }
  });
  form.addEventListener("input", (event) => {
    const index = event.target.name?.split("-")[1];
    const lever = levers.find((one) => one.dataset.index === index);
    if (!lever) return;
    lever.dataset.kg = String(Math.max(0, Number(field(lever, "kg").value) / set.factor));
    lever.dataset.week = String(Math.max(0, Math.min(set.weeks.length - 1, Number(field(lever, "week").value) - 1)));
    touched.add(lever);
    place(lever);
    ask();
  });
})();
