// Draws the charts of a page from their Vega-Lite specifications, under a content policy that allows no eval and no inline script.
(() => {
  "use strict";
  const NAMES = { "#22302b": "--ink", "#5c6a64": "--soft", "#d5dcd8": "--line", "#fdfdfb": "--paper", "#eef2ef": "--mist",
    "#1d6a57": "--chart-accent", "#cfe3dc": "--pale", "#14493c": "--ink", "#ffffff": "--paper" };

  function isDark() {
    return getComputedStyle(document.documentElement).colorScheme === "dark" ||
      (!document.documentElement.dataset.theme && matchMedia("(prefers-color-scheme: dark)").matches);
  }
  const DARK = { "--ink": "#e6ece8", "--soft": "#a9b7b0", "--line": "#3d4a44", "--paper": "#161c19", "--mist": "#2a342f",
    "--chart-accent": "#57b197", "--pale": "#2c4d43" };

  // How a language writes days and numbers on axes; English is what Vega does by itself.
  const names = (language, what, count, make) => {
    const say = new Intl.DateTimeFormat(language, { ...what, timeZone: "UTC" });
    return Array.from({ length: count }, (_, at) => say.format(make(at)));
  };
  function written(language) {
    if (!language || language === "en") return {};
    const month = (at) => Date.UTC(2027, at, 15), day = (at) => Date.UTC(2027, 7, 1 + at);
    const point = (1.5).toLocaleString(language)[1];
    return {
      formatLocale: { decimal: point, thousands: "\u00a0", grouping: [3], currency: ["", ""] },
      timeFormatLocale: {
        dateTime: "%A %e %B %Y %X", date: "%d/%m/%Y", time: "%H:%M:%S", periods: ["", ""],
        days: names(language, { weekday: "long" }, 7, day), shortDays: names(language, { weekday: "short" }, 7, day),
        months: names(language, { month: "long" }, 12, month), shortMonths: names(language, { month: "short" }, 12, month),
      },
    };
  }

  // The neutral colours of a specification, exchanged for those of the dark theme.
  function tinted(value) {
    if (Array.isArray(value)) return value.map(tinted);
    if (value && typeof value === "object") return Object.fromEntries(Object.entries(value).map(([k, v]) => [k, tinted(v)]));
    return typeof value === "string" && NAMES[value.toLowerCase()] ? DARK[NAMES[value.toLowerCase()]] : value;
  }

  async function draw(figure) {
    const spec = JSON.parse(figure.querySelector("script.spec").textContent);
    const place = figure.querySelector(".drawing");
    const wanted = document.documentElement.dataset.theme === "light" ? false : isDark();
    place.classList.add("drawn");
    await vegaEmbed(place.querySelector(".canvas"), wanted ? tinted(spec) : spec,
      { ast: true, actions: false, renderer: "svg", tooltip: false, defaultStyle: false, mode: "vega-lite", logLevel: vega.Error, loader: { load: refuse },
        ...written(document.documentElement.lang) });
    const svg = place.querySelector("svg");
    if (svg) { svg.setAttribute("aria-hidden", "true"); svg.setAttribute("focusable", "false"); }
    figure.dataset.state = "drawn";
  }
  function refuse(url) { throw new Error(`nothing is loaded into a chart: ${url}`); }

  function all() {
    for (const figure of document.querySelectorAll("figure.chart"))
      draw(figure).catch((error) => { figure.dataset.state = "failed"; console.error("chart", figure.id, error); });
  }
  all();
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", all);
  document.addEventListener("htmx:afterSettle", (event) => {
    for (const figure of event.target.querySelectorAll?.("figure.chart:not([data-state])") ?? []) draw(figure).catch(() => {});
  });
})();
