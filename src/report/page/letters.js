/* letters.js - the words over the model: HTML, so that they stay sharp and can be read aloud. Each is
 * tied to its place by a line and kept clear of the others. */
"use strict";

const letters = (() => {
  const APART = 3; /* px between two of them */

  /* Rectangles that are taken: [left, top, width, height]. */
  function makeRoom(width, height) {
    const taken = [];
    const free = ([l, t, w, h]) =>
      l >= 2 && t >= 2 && l + w <= width - 2 && t + h <= height - 2 &&
      taken.every(([x, y, v, u]) => l > x + v + APART || x > l + w + APART || t > y + u + APART || y > t + h + APART);
    /* Where a box of that size, wanted with its middle at (x, y), finds room: there, or the nearest
     * place beside it, farther and farther. Null: nowhere near. */
    function find(x, y, wide, high) {
      for (let ring = 0; ring < 8; ring++)
        for (const twelfth of ring ? [0, 6, 1, 5, 11, 7, 2, 4, 10, 8, 3, 9] : [0]) {
          const turn = twelfth * Math.PI / 6;
          const mx = x + ring * (0.5 * wide + 5) * Math.cos(turn), my = y - ring * (0.5 * high + 5) * Math.sin(turn);
          const box = [mx - wide / 2, my - high / 2, wide, high];
          if (free(box)) return box;
        }
      return null;
    }
    return { take: (box) => taken.push(box), free, find };
  }

  /* Boxes that would overlap are wanted in a row instead, in their order from left to right, so that
   * no tie crosses another. `wish`: middles, changed. */
  function inRows(wish, step) {
    const order = wish.map((_, i) => i).sort((a, b) => wish[a][0] - wish[b][0] || a - b);
    for (let i = 0, j; i < order.length; i = j) {
      const near = (a, b) => wish[b][0] - wish[a][0] < step && Math.abs(wish[b][1] - wish[a][1]) < step;
      for (j = i + 1; j < order.length && near(order[j - 1], order[j]); j++);
      const row = order.slice(i, j);
      const x = row.reduce((sum, k) => sum + wish[k][0], 0) / row.length;
      const y = Math.min(...row.map((k) => wish[k][1]));
      if (row.length > 1) row.forEach((k, n) => { wish[k] = [x + step * (n - (row.length - 1) / 2), y]; });
    }
    return order;
  }

  function make(holder, data) {
    const SVG = "http://www.w3.org/2000/svg";
    const lines = document.createElementNS(SVG, "svg");
    lines.setAttribute("aria-hidden", "true");
    holder.append(lines);

    const letterOf = (tag, name, text) => {
      const element = document.createElement(tag);
      element.className = name;
      element.textContent = text;
      holder.append(element);
      return element;
    };
    const tideLetters = data.tides.map((tide) => letterOf("span", "tide-letter", tide.mark));
    const plumbLetter = letterOf("span", "plumb-letter", "plumb");
    const placeLetter = letterOf("span", "place-letter", "");
    const nameLetters = data.names.map((part) => letterOf("span", "name-letter", part.name));
    const airLetters = data.air.map((air) => {
      const button = letterOf("button", "air-letter", `air ${air.id}`);
      button.type = "button";
      button.dataset.air = air.id;
      return button;
    });
    const ventSizes = data.vents.map((vent) => letterOf("span", "vent-size", `${+vent.diameter.toPrecision(3)} mm`));
    const ventLetters = data.vents.map((vent) => {
      const button = letterOf("button", "vent-letter", vent.id);
      button.type = "button";
      button.dataset.vent = vent.id;
      button.setAttribute("aria-label", `hole ${vent.id}`);
      return button;
    });

    /* `view` says where things are: onScreen(place in mm), kept(place) whether the cut leaves it,
     * ventEnds, tidePlaces, plumbTop; `state` what is shown. */
    function move(view, state, width, height) {
      const { onScreen, kept } = view;
      const room = makeRoom(width, height);
      const event = data.events[state.event];
      lines.setAttribute("viewBox", `0 0 ${width} ${height}`);
      lines.replaceChildren();
      const at = (element, [left, top]) => {
        element.style.transform = `translate(${Math.round(left)}px, ${Math.round(top)}px)`;
      };
      function tie(name, [x, y], [left, top, wide, high], dot) {
        const line = document.createElementNS(SVG, "path");
        line.setAttribute("class", name);
        line.setAttribute("d", `M${x} ${y}L${left + wide / 2} ${top + high / 2}`);
        lines.append(line);
        if (!dot) return;
        const spot = document.createElementNS(SVG, "circle");
        for (const [key, value] of [["class", name], ["cx", x], ["cy", y], ["r", 3.5]]) spot.setAttribute(key, value);
        lines.append(spot);
      }
      /* False: there is no room, and it is left to the words beside the model. */
      function put(element, [x, y], wish, name, dot) {
        element.hidden = false;
        const box = room.find(wish[0], wish[1], element.offsetWidth, element.offsetHeight);
        element.hidden = !box;
        if (!box) return null;
        room.take(box);
        at(element, box);
        if (name) tie(name, [x, y], box, dot);
        return box;
      }

      const plumb = onScreen(view.plumbTop);
      put(plumbLetter, plumb, [plumb[0], plumb[1] - 12]);
      const ends = view.ventEnds.map(onScreen), wish = ends.map((end) => [...end]);
      for (const i of inRows(wish, 34)) {
        const button = ventLetters[i];
        button.classList.toggle("now", data.vents[i].id === (state.vent || event.vent));
        const box = put(button, ends[i], wish[i], "vent-tie");
        const size = ventSizes[i];
        size.hidden = false;
        const beside = box && [box[0] + box[2] + 2, box[1] + 4, size.offsetWidth, size.offsetHeight];
        size.hidden = !beside || !room.free(beside);
        if (size.hidden) continue;
        room.take(beside);
        at(size, beside);
      }
      airLetters.forEach((button, i) => {
        button.hidden = data.air[i].cutOff > state.now;
        if (button.hidden) return;
        const place = onScreen(view.local(data.air[i].at));
        button.classList.toggle("now", data.air[i].id === (state.air || event.air));
        put(button, place, [place[0] + 34, place[1] - 20], "air-tie", true);
      });
      tideLetters.forEach((element, i) => {
        const places = data.tides[i].at <= state.now ? view.tidePlaces[i].filter(kept).map(onScreen) : [];
        const leftmost = places.reduce((best, p) => (!best || p[0] < best[0] ? p : best), null);
        element.hidden = !leftmost;
        if (!leftmost) return;
        const wide = element.offsetWidth, high = element.offsetHeight;
        const box = [leftmost[0] - 5 - wide, leftmost[1] - high / 2, wide, high];
        element.hidden = !room.free(box);
        if (element.hidden) return;
        room.take(box);
        at(element, box);
      });
      nameLetters.forEach((element, i) => {
        element.hidden = !state.names;
        if (!state.names) return;
        const place = onScreen(view.local(data.names[i].at));
        put(element, place, place, "name-tie");
      });
      placeLetter.hidden = !event.at || event.vent > 0 || event.air > 0;
      if (event.at) at(placeLetter, onScreen(view.local(event.at)));
    }

    return { move };
  }

  return { make, makeRoom };
})();
