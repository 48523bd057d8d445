/* page.js - stepping through the moments, and the hands on the page. Everything it shows is on the
 * page already, in words and still pictures; it only brings them together. */
"use strict";

(() => {
  const root = document.documentElement;
  root.classList.add("js");
  const find = (id) => document.getElementById(id);
  const data = JSON.parse(find("scene").textContent);
  const moments = [...document.querySelectorAll(".moment")];
  const holes = [...document.querySelectorAll(".hole")];
  const solid = model.make(find("canvas"), find("letters"), data);
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  const PLAY_MS = 1600;
  let current = 0, playing = 0;

  if (solid) {
    find("model").classList.add("solid");
    model.follow(solid);
  }

  /* --- the moments --- */

  function told(mark, text) {
    const strong = document.createElement("b");
    strong.textContent = mark;
    find("told").replaceChildren(strong, text);
  }

  function show(index) {
    current = Math.min(moments.length - 1, Math.max(0, index));
    const event = data.events[current];
    moments.forEach((moment, i) => {
      if (i === current) moment.setAttribute("aria-current", "step");
      else moment.removeAttribute("aria-current");
    });
    told(`${current + 1}. ${event.mark}`, event.text);
    find("back").disabled = current === 0;
    find("on").disabled = current === moments.length - 1;
    mark(0);
    if (!solid) {
      find("still").replaceChildren(moments[current].querySelector("svg").cloneNode(true));
      return;
    }
    Object.assign(solid.state, { event: current, now: event.reached });
    solid.redraw({ foam: true });
  }

  /* Marks a hole, or air, wherever it is drawn; 0: none but the moment's own. */
  function mark(vent, air = 0) {
    for (const hole of holes) hole.classList.toggle("now", Number(hole.dataset.vent) === vent);
    if (!solid) return;
    Object.assign(solid.state, { vent, air });
    solid.redraw();
  }

  function showAir(air) {
    const line = find(`air-${air}`);
    told(`Air ${air}`, line ? line.querySelector("p").textContent : "");
    mark(0, air);
  }

  function showHole(vent) {
    const line = find(`hole-${vent}`);
    told(`Hole ${vent}`, line ? line.querySelector("p").textContent : "");
    mark(vent);
  }

  moments.forEach((moment, i) => moment.addEventListener("click", () => { stop(); show(i); }));
  find("back").addEventListener("click", () => { stop(); show(current - 1); });
  find("on").addEventListener("click", () => { stop(); show(current + 1); });
  for (const hole of document.querySelectorAll("[data-vent]"))
    hole.addEventListener("click", () => {
      showHole(Number(hole.dataset.vent));
      if (hole.classList.contains("hole")) find("model").scrollIntoView({ block: "nearest" });
    });

  for (const air of document.querySelectorAll("[data-air]"))
    air.addEventListener("click", () => showAir(Number(air.dataset.air)));

  /* --- playing: from where it stands to the end; foam creeps from one moment to the next --- */

  function stop() {
    cancelAnimationFrame(playing);
    clearTimeout(playing);
    playing = 0;
    find("play").setAttribute("aria-pressed", "false");
    find("play").textContent = "Play";
  }

  function creep(from, to, since) {
    const share = Math.min(1, (performance.now() - since) / PLAY_MS);
    solid.state.now = from + (to - from) * share;
    solid.redraw({ foam: true });
    playing = share < 1 ? requestAnimationFrame(() => creep(from, to, since)) : setTimeout(next, PLAY_MS / 2);
  }

  function next() {
    if (current === moments.length - 1) { stop(); return; }
    const from = data.events[current].reached;
    show(current + 1);
    if (solid && !calm.matches) creep(from, data.events[current].reached, performance.now());
    else playing = setTimeout(next, PLAY_MS);
  }

  find("play").addEventListener("click", () => {
    if (playing) { stop(); return; }
    find("play").setAttribute("aria-pressed", "true");
    find("play").textContent = "Stop";
    if (current === moments.length - 1) show(0);
    playing = setTimeout(next, 300);
  });

  /* --- the cut --- */

  const cut = find("cut");
  function moveCut(share) {
    solid.state.cutShare = Math.min(1, Math.max(0, share));
    cut.value = String(Math.round(1000 * solid.state.cutShare));
    solid.redraw({ cut: true });
  }
  if (solid) {
    moveCut(solid.state.cutShare);
    cut.addEventListener("input", () => moveCut(Number(cut.value) / 1000));
    find("turn-cut").addEventListener("click", () => {
      const turned = solid.state.cutTurn === 0;
      solid.state.cutTurn = turned ? -Math.PI / 2 : 0;
      solid.state.turn += turned ? -Math.PI / 2 : Math.PI / 2;
      moveCut(0.5);
    });
    find("close-cut").addEventListener("click", (e) => {
      solid.state.shut = !solid.state.shut;
      e.target.setAttribute("aria-pressed", String(solid.state.shut));
      e.target.textContent = solid.state.shut ? "Cut it open" : "Shut it";
      solid.redraw({ cut: true });
    });
    find("names").hidden = data.names.length === 0;
    find("names").addEventListener("click", (e) => {
      solid.state.names = !solid.state.names;
      e.target.setAttribute("aria-pressed", String(solid.state.names));
      solid.redraw();
    });
  }

  document.addEventListener("keydown", (e) => {
    if (e.ctrlKey || e.metaKey || e.altKey) return;
    const keys = {
      n: () => show(current + 1), b: () => show(current - 1),
      "[": () => solid && moveCut(solid.state.cutShare - 0.03), "]": () => solid && moveCut(solid.state.cutShare + 0.03),
    };
    const act = keys[e.key.toLowerCase()];
    if (!act) return;
    stop();
    act();
  });

  /* --- the ways up --- */

  const ways = [...document.querySelectorAll(".compared")];
  function tellWay(button) {
    for (const way of ways) way.setAttribute("aria-pressed", String(way === button));
    find("why").replaceChildren(...button.parentElement.querySelector(".why").cloneNode(true).childNodes);
  }
  for (const way of ways) way.addEventListener("click", () => tellWay(way));
  const chosen = ways.find((way) => way.getAttribute("aria-pressed") === "true") || ways[0];
  if (chosen) tellWay(chosen);

  show(0);
})();
