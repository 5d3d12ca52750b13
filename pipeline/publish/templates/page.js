"use strict";
(() => {
  const byId = (id) => document.getElementById(id);
  const player = byId("player");
  const list = byId("list");
  const strip = byId("strip");
  const told = byId("told");
  const rows = list ? [...list.children] : [];
  const marks = [...strip.querySelectorAll(".mark")];
  let stopAt = Infinity;

  const tell = (text) => {
    told.textContent = text;
    clearTimeout(tell.timer);
    tell.timer = setTimeout(() => { told.textContent = ""; }, 4000);
  };

  const copy = async (text, what) => {
    try {
      await navigator.clipboard.writeText(text);
    } catch {
      // Pages that are neither on disk nor under https have no clipboard but this one.
      const field = document.createElement("textarea");
      field.value = text;
      const focused = document.activeElement;
      document.body.append(field);
      field.select();
      const copied = document.execCommand("copy");
      field.remove();
      focused?.focus();
      if (!copied) { tell("The browser does not let this page copy."); return; }
    }
    tell(`${what} copied`);
  };

  const linkOf = (row) => row.dataset.link && new URL(row.dataset.link, document.baseURI).href;
  const shown = () => rows.filter((row) => !row.hidden);
  const lineOf = (row) => {
    const link = linkOf(row);
    return `${row.dataset.sentence}. [${row.querySelector(".at").textContent}]${link ? ` ${link}` : ""}`;
  };

  const seek = (time) => {
    stopAt = Infinity;
    if (player) player.currentTime = time;
  };

  const choose = (row, { play = false } = {}) => {
    for (const other of rows) other.removeAttribute("aria-current");
    row.setAttribute("aria-current", "true");
    for (const mark of marks) mark.classList.toggle("chosen", mark.dataset.flaw === row.id);
    row.scrollIntoView({ block: "nearest" });
    history.replaceState(null, "", `#${row.id}`);
    seek(Number(row.dataset.start));
    if (play && player) {
      stopAt = Number(row.dataset.end);
      player.play().catch(() => tell("The recording cannot be played here."));
    }
  };

  const actions = {
    pick: (row) => choose(row),
    play: (row) => choose(row, { play: true }),
    "copy-link": (row) => linkOf(row) && copy(linkOf(row), "Link"),
    "copy-sentence": (row) => copy(row.dataset.sentence, "Sentence"),
    still: (row) => {
      const dialog = byId("enlarged");
      const image = row.querySelector(".still img");
      const large = dialog.querySelector("img");
      large.src = image.src;
      large.alt = image.alt;
      dialog.showModal();
    },
  };

  list?.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    const action = button && actions[button.className];
    if (action) action(button.closest("li"));
  });

  list?.addEventListener("keydown", (event) => {
    if (event.altKey || event.ctrlKey || event.metaKey) return;
    const row = event.target.closest("#list > li");
    if (!row) return;
    const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    if (step) {
      const visible = shown();
      visible[visible.indexOf(row) + step]?.querySelector(".pick").focus();
      event.preventDefault();
    }
    const action = { p: "play", c: "copy-link", s: "copy-sentence" }[event.key.toLowerCase()];
    if (action) actions[action](row);
  });

  strip.addEventListener("click", (event) => {
    const mark = event.target.closest(".mark");
    event.preventDefault();
    if (mark) choose(byId(mark.dataset.flaw));
    else if (player?.duration) {
      const { left, width } = strip.getBoundingClientRect();
      seek((player.duration * (event.clientX - left)) / width);
    }
  });

  strip.addEventListener("keydown", (event) => {
    const step = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    if (!step) return;
    const stops = marks.filter((mark) => mark.hasAttribute("href") && !mark.classList.contains("away"));
    const at = stops.indexOf(event.target.closest(".mark"));
    const next = stops[at + step];
    if (next) {
      for (const stop of stops) stop.setAttribute("tabindex", stop === next ? "0" : "-1");
      next.focus();
    }
    event.preventDefault();
  });

  const filters = byId("filters");
  const filter = () => {
    const want = Object.fromEntries(new FormData(filters));
    for (const row of rows) {
      const { part, side, grade, group } = row.dataset;
      row.hidden = Boolean(
        (want.part && want.part !== part)
        || (want.side && want.side !== side && !(side === "both" && want.side !== "none"))
        || (want.grade && Number(grade) < Number(want.grade))
        || (want.group && want.group !== group)
      );
    }
    const visible = shown();
    const ids = new Set(visible.map((row) => row.id));
    for (const mark of marks) mark.classList.toggle("away", !ids.has(mark.dataset.flaw));
    const stops = marks.filter((mark) => mark.hasAttribute("href"));
    const first = stops.find((mark) => ids.has(mark.dataset.flaw));
    for (const stop of stops) stop.setAttribute("tabindex", stop === first ? "0" : "-1");
    byId("none").hidden = visible.length > 0;
    byId("count").textContent = visible.length === rows.length ? rows.length : `${visible.length} of ${rows.length}`;
    tell(`${visible.length} of ${rows.length} flaws shown`);
  };
  filters?.addEventListener("change", filter);
  filters?.addEventListener("reset", () => setTimeout(filter));
  filters?.addEventListener("submit", (event) => event.preventDefault());
  byId("copy-all")?.addEventListener("click", () => {
    const visible = shown();
    copy(visible.map(lineOf).join("\n"), visible.length === 1 ? "1 flaw" : `${visible.length} flaws`);
  });

  for (const button of document.querySelectorAll(".copy-text")) {
    button.addEventListener("click", () => copy(button.closest(".text").querySelector("pre").textContent, "Text"));
  }

  player?.addEventListener("timeupdate", () => {
    const now = player.currentTime;
    if (now >= stopAt) { player.pause(); stopAt = Infinity; }
    const x = `${(100 * now) / (player.duration || Infinity)}%`;
    byId("playhead").setAttribute("x1", x);
    byId("playhead").setAttribute("x2", x);
    for (const row of rows) {
      row.classList.toggle("now", now >= Number(row.dataset.start) && now < Number(row.dataset.end));
    }
  });

  const follow = () => {
    const name = decodeURIComponent(location.hash.slice(1));
    const row = rows.find((one) => one.id === name);
    const time = /^t=(?:npt:)?(\d+(?:\.\d*)?)(?:,|$)/.exec(name);
    if (row) choose(row);
    else if (time) seek(Number(time[1]));
  };
  window.addEventListener("hashchange", follow);
  document.addEventListener("click", (event) => {
    // A moment that is asked for again changes no hash.
    if (event.target.closest("a[href^='#t=']")) setTimeout(follow);
  });
  follow();
})();
