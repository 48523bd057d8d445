/* model.js - the mould cut open, to turn and look into. model.make() gives null where the browser
 * has no WebGL 2; the page then keeps to its still pictures. */
"use strict";

const model = (() => {
  const vec = (a) => new THREE.Vector3(a[0], a[1], a[2]);

  function context(canvas) {
    const wanted = { antialias: true, stencil: true, alpha: false };
    try {
      return canvas.getContext("webgl2", wanted);
    } catch (refused) {
      return null;
    }
  }

  /* Colours come from the style sheet, so that light and dark are told in one place. */
  function pens() {
    const style = getComputedStyle(document.documentElement);
    const named = (name) => new THREE.Color(style.getPropertyValue("--" + name).trim());
    const names = ["paper", "ink", "foam", "air", "wall", "rule", "vent", "faint"];
    return { ...Object.fromEntries(names.map((name) => [name, named(name)])), tide: named("tide-on-foam") };
  }

  function make(canvas, holder, data) {
    const gl = context(canvas);
    if (!gl) return null;
    const renderer = new THREE.WebGLRenderer({ canvas, context: gl });
    const stand = data.stand, field = shapes.readField(data.field);
    const middle = stand.low.map((low, c) => (low + stand.high[c]) / 2);
    const local = (at) => vec(at).sub(vec(middle));
    const low = local(stand.low), high = local(stand.high), size = high.clone().sub(low).length();
    const up = vec(stand.up), along = vec(stand.along), across = up.clone().cross(along);
    const wall = shapes.wallMesh(data.mesh, middle);
    const toByte = (at) =>
      1 + (data.field.reached - 1) * (at - data.field.first) / (data.field.end - data.field.first);
    const tideBytes = data.tides.map((tide) => toByte(tide.at));

    /* --- what the drawing stands at --- */

    const state = {
      turn: -0.55, above: 0.3, zoom: 1, target: new THREE.Vector3(),
      cutTurn: 0, cutShare: 0.5, shut: false, event: 0, now: 0, vent: 0, air: 0, names: false,
    };
    const cutNormal = () => vec(stand.cut).applyAxisAngle(up, state.cutTurn);
    /* How far the tool reaches along a direction, either way from its middle. */
    const reach = (n) => [0, 1, 2].reduce((sum, c) => sum + Math.abs(n.getComponent(c)) * high.getComponent(c), 0);
    const cutOffset = () => (2 * state.cutShare - 1) * reach(cutNormal());
    /* The eye stands before the cut, a little to one side. */
    const before = along.clone().cross(up), facing = vec(stand.cut);
    state.turn += Math.atan2(up.dot(before.clone().cross(facing)), before.dot(facing));
    state.cutShare = 0.5 + (stand.depth - vec(stand.cut).dot(vec(middle))) / (2 * reach(cutNormal()));

    /* --- the scene --- */

    const texture = new THREE.DataTexture3D(field.texel, ...data.field.n);
    texture.format = THREE.RGBFormat;
    texture.minFilter = texture.magFilter = THREE.LinearFilter;
    texture.unpackAlignment = 1;
    texture.needsUpdate = true;
    const colours = pens();
    const shared = {
      field: { value: texture },
      fieldFrom: { value: local(data.field.origin) },
      fieldSize: { value: vec(data.field.n).multiplyScalar(data.field.cube) },
      cut: { value: new THREE.Vector4(0, 0, 0, 1) },
      now: { value: 0 },
      tides: { value: Array.from({ length: 16 }, (_, i) => (tideBytes[i] || 0) / 255) },
      tideCount: { value: tideBytes.length },
      hatch: { value: size / 55 },
      along: { value: along }, across: { value: across },
      cutAlong: { value: new THREE.Vector3() }, cutAcross: { value: up },
      low: { value: low }, high: { value: high },
      screen: { value: new THREE.Vector2(1, 1) },
    };
    for (const name of Object.keys(colours)) shared[name] = { value: colours[name] };
    const scene = new THREE.Scene();
    const camera = new THREE.OrthographicCamera(-1, 1, 1, -1, 0.1, 10);

    function surface(fragment, more) {
      return new THREE.ShaderMaterial({
        uniforms: shared, vertexShader: shaders.vertex, fragmentShader: shaders[fragment],
        side: THREE.DoubleSide, extensions: { derivatives: true }, ...more,
      });
    }

    function add(geometry, material, order) {
      const mesh = new THREE.Mesh(geometry, material);
      mesh.renderOrder = order;
      mesh.frustumCulled = false;
      scene.add(mesh);
      return mesh;
    }

    function geometryOf(position, normal, index) {
      const geometry = new THREE.BufferGeometry();
      geometry.setAttribute("position", new THREE.Float32BufferAttribute(position, 3));
      geometry.setAttribute("normal", new THREE.Float32BufferAttribute(normal, 3));
      if (index) geometry.setIndex(new THREE.Uint32BufferAttribute(index, 1));
      return geometry;
    }

    /* Inside the cavity the wall's back faces outnumber its front faces behind the cut: that many
     * are left in the stencil. */
    function counting(side, pass) {
      return surface("nothing", {
        side, colorWrite: false, depthWrite: false, depthFunc: THREE.AlwaysDepth, stencilWrite: true,
        stencilFunc: THREE.AlwaysStencilFunc, stencilFail: pass, stencilZFail: pass, stencilZPass: pass,
      });
    }
    const smooth = shapes.smoothed(wall), wallGeometry = geometryOf(smooth.position, smooth.normal);
    const counts = [
      add(wallGeometry, counting(THREE.BackSide, THREE.IncrementWrapStencilOp), 1),
      add(wallGeometry, counting(THREE.FrontSide, THREE.DecrementWrapStencilOp), 2),
    ];
    const where = (stencilFunc) => ({ stencilWrite: true, stencilRef: 0, stencilFunc });
    const sheet = new THREE.BufferGeometry();
    const cuts = [
      add(sheet, surface("cutCavity", where(THREE.NotEqualStencilFunc)), 3),
      add(sheet, surface("cutTool", where(THREE.EqualStencilFunc)), 4),
    ];
    add(wallGeometry, surface("wall"), 5);
    const cast = data.inserts.map((insert) => shapes.wallMesh(insert, middle));
    for (const insert of cast) {
      const { position, normal } = shapes.smoothed(insert);
      add(geometryOf(position, normal), surface("insert"), 5);
    }
    const front = add(new THREE.BufferGeometry(), surface("front"), 6);

    /* --- lines --- */

    function penGeometry(pairs) {
      const from = [], to = [], side = [], index = [];
      for (let i = 0; i + 5 < pairs.length; i += 6)
        for (const [end, edge] of [[0, -1], [0, 1], [1, -1], [1, 1]]) {
          const n = from.length / 3;
          if (!end && edge < 0) index.push(n, n + 1, n + 2, n + 2, n + 1, n + 3);
          from.push(pairs[i], pairs[i + 1], pairs[i + 2]);
          to.push(pairs[i + 3], pairs[i + 4], pairs[i + 5]);
          side.push(end, edge);
        }
      const geometry = new THREE.BufferGeometry();
      geometry.setAttribute("position", new THREE.Float32BufferAttribute(from, 3));
      geometry.setAttribute("from", new THREE.Float32BufferAttribute(from, 3));
      geometry.setAttribute("to", new THREE.Float32BufferAttribute(to, 3));
      geometry.setAttribute("side", new THREE.Float32BufferAttribute(side, 2));
      geometry.setIndex(index);
      return geometry;
    }

    function draw(pairs, colour, width, more = {}) {
      const { dash = 0, clipped = 1, order = 7 } = more;
      const uniforms = {
        cut: shared.cut, screen: shared.screen, colour: shared[colour],
        width: { value: width * renderer.getPixelRatio() }, dash: { value: dash }, clipped: { value: clipped },
      };
      return add(penGeometry(pairs), new THREE.ShaderMaterial({
        uniforms, vertexShader: shaders.penVertex, fragmentShader: shaders.pen, side: THREE.DoubleSide,
      }), order);
    }

    /* Sides of a box with these eight corners, numbered x + 2 y + 4 z. */
    function boxLines(corner) {
      const pairs = [];
      for (let i = 0; i < 8; i++)
        for (let a = 0; a < 3; a++)
          if (!(i >> a & 1)) pairs.push(...corner(i).toArray(), ...corner(i | 1 << a).toArray());
      return pairs;
    }
    const toolCorner = (i) => new THREE.Vector3(...[0, 1, 2].map((c) => (i >> c & 1 ? high : low).getComponent(c)));
    const bench = stand.bench - vec(stand.up).dot(vec(middle));
    const onBench = (p) => p.clone().addScaledVector(up, bench - up.dot(p));

    renderer.setPixelRatio(Math.min(2, window.devicePixelRatio || 1));
    draw(shapes.sharpEdges(wall), "ink", 1.2);
    for (const insert of cast) draw(shapes.sharpEdges(insert), "ink", 1.6);
    draw(boxLines(toolCorner), "faint", 1);
    const outline = draw([], "ink", 2, { clipped: 0, order: 8 });

    /* Two triangles a side, of corners numbered as for boxLines(). */
    const BOX_SIDES = [[0, 1, 3, 2], [4, 5, 7, 6], [0, 1, 5, 4], [2, 3, 7, 6], [0, 2, 6, 4], [1, 3, 7, 5]]
      .flatMap(([a, b, c, d]) => [a, b, c, a, c, d]);
    const benchRim = [[-1, -1], [1, -1], [1, 1], [-1, 1]].map(([a, b]) => onBench(new THREE.Vector3()
      .addScaledVector(along, a * (reach(along) + size / 20)).addScaledVector(across, b * (reach(across) + size / 20))));
    function drawStand() {
      const width = size / 20;
      const block = new THREE.MeshBasicMaterial({ side: THREE.DoubleSide });
      block.color = colours.paper;
      for (const foot of stand.feet.map(local)) {
        if (up.dot(foot) - bench < size / 1000) continue;
        const inward = (d) => d.clone().multiplyScalar(foot.dot(d) > 0 ? -width : width);
        const corner = (i) => {
          const p = foot.clone();
          if (i & 1) p.add(inward(along));
          if (i & 2) p.add(inward(across));
          return i & 4 ? p : onBench(p);
        };
        draw(boxLines(corner), "ink", 1.2, { clipped: 0 });
        const corners = [0, 1, 2, 3, 4, 5, 6, 7].flatMap((i) => corner(i).toArray());
        add(geometryOf(corners, corners, BOX_SIDES), block, 5);
      }
      draw(benchRim.flatMap((p, i) => [...p.toArray(), ...benchRim[(i + 1) % 4].toArray()]), "ink", 1.6, { clipped: 0 });
    }
    const plumbFoot = onBench(new THREE.Vector3().addScaledVector(along, -reach(along) - size / 12));
    const plumbTop = plumbFoot.clone().addScaledVector(up, reach(up) - bench);
    function drawPlumb() {
      const bob = plumbFoot.clone().addScaledVector(up, size / 16);
      draw([...plumbTop.toArray(), ...bob.toArray()], "ink", 1, { clipped: 0 });
      const ink = new THREE.MeshBasicMaterial();
      ink.color = colours.ink;
      const cone = new THREE.ConeBufferGeometry(size / 80, size / 18, 20);
      const mesh = add(cone, ink, 7);
      mesh.quaternion.setFromUnitVectors(new THREE.Vector3(0, -1, 0), up);
      mesh.position.copy(plumbFoot).addScaledVector(up, size / 28);
    }
    const ventEnds = data.vents.map((vent) => {
      const at = local(vent.at), through = local(vent.through);
      const out = through.clone().sub(at);
      if (out.length() > 0) out.normalize();
      draw([...at.toArray(), ...through.toArray()], "vent", Math.max(3, 1.2 * vent.diameter), { clipped: 0 });
      return through.addScaledVector(vent.ok ? out : up, size / 30);
    });
    drawStand();
    drawPlumb();

    /* --- following the state --- */

    function moveCut() {
      const n = cutNormal(), offset = cutOffset(), sideways = up.clone().cross(n);
      for (const mesh of [...counts, ...cuts, outline]) mesh.visible = !state.shut;
      if (state.shut) {
        shared.cut.value.set(0, 0, 0, 1);
        return;
      }
      shared.cut.value.set(-n.x, -n.y, -n.z, offset + 1e-3 * size / 100);
      shared.cutAlong.value.copy(sideways);
      const corner = (a, b) => n.clone().multiplyScalar(offset).addScaledVector(sideways, a * size).addScaledVector(up, b * size).toArray();
      const [p, q, r, s] = [corner(-1, -1), corner(1, -1), corner(1, 1), corner(-1, 1)];
      sheet.setAttribute("position", new THREE.Float32BufferAttribute([...p, ...q, ...r, ...p, ...r, ...s], 3));
      sheet.setAttribute("normal", new THREE.Float32BufferAttribute(Array(6).fill(n.toArray()).flat(), 3));
      outline.geometry.dispose();
      outline.geometry = penGeometry([wall, ...cast].flatMap((mesh) => shapes.section(mesh, n.toArray(), offset)));
    }

    function moveFoam() {
      const level = toByte(state.now) + 0.5;
      shared.now.value = level / 255;
      if (shapes.markAir(field, data.air.map((air) => toByte(air.cutOff)), level)) texture.needsUpdate = true;
      const f = shapes.foamFront(field, level, middle);
      front.geometry.dispose();
      front.geometry = geometryOf(f.position, f.normal, f.triangles);
      front.visible = f.triangles.length > 0;
    }

    /* From the tool to the eye. */
    function toEye() {
      const level = along.clone().cross(up).applyAxisAngle(up, state.turn);
      return level.multiplyScalar(Math.cos(state.above)).addScaledVector(up, Math.sin(state.above));
    }

    /* As large as it goes when first seen: the tool, its bench and the plumb line, with room for words. */
    function fit(width, height) {
      const eye = toEye(), right = up.clone().cross(eye).normalize(), top = eye.clone().cross(right);
      const seen = [plumbTop, plumbFoot, ...benchRim, ...[0, 1, 2, 3, 4, 5, 6, 7].map(toolCorner), ...ventEnds];
      const span = (d) => [Math.min(...seen.map((p) => p.dot(d))), Math.max(...seen.map((p) => p.dot(d)))];
      const [x0, x1] = span(right), [y0, y1] = span(top);
      state.target.copy(right).multiplyScalar((x0 + x1) / 2).addScaledVector(top, (y0 + y1) / 2);
      halfWide = 1.14 * Math.max((x1 - x0) / 2, (y1 - y0) / 2 * width / height);
    }
    let halfWide = 0;

    function moveCamera(width, height) {
      if (!halfWide) fit(width, height);
      const eye = toEye(), wide = halfWide / state.zoom, tall = wide * height / width;
      Object.assign(camera, { left: -wide, right: wide, top: tall, bottom: -tall, near: 0.1, far: 8 * size });
      camera.up.copy(up);
      camera.position.copy(state.target).addScaledVector(eye, 4 * size);
      camera.lookAt(state.target);
      camera.updateProjectionMatrix();
      camera.updateMatrixWorld();
    }

    /* --- the words over it --- */

    const tidePlaces = shapes.tidePlaces(field, tideBytes, middle).map((places) => places.map(vec));
    const written = letters.make(holder, data);
    function moveLetters(width, height) {
      const onScreen = (p) => {
        const q = p.clone().project(camera);
        return [(q.x + 1) / 2 * width, (1 - q.y) / 2 * height];
      };
      const { x, y, z, w } = shared.cut.value;
      const kept = (p) => state.shut || x * p.x + y * p.y + z * p.z + w >= 0;
      written.move({ onScreen, kept, local, ventEnds, tidePlaces, plumbTop }, state, width, height);
    }

    /* --- drawing, once however often it is asked for --- */

    let due = false;
    const stale = { cut: true, foam: true };

    function drawNow() {
      due = false;
      const width = canvas.clientWidth, height = canvas.clientHeight;
      if (!width || !height) return;
      if (stale.cut) moveCut();
      if (stale.foam) moveFoam();
      stale.cut = stale.foam = false;
      renderer.setSize(width, height, false);
      shared.screen.value.set(width, height).multiplyScalar(renderer.getPixelRatio());
      moveCamera(width, height);
      renderer.setClearColor(colours.paper);
      renderer.render(scene, camera);
      moveLetters(width, height);
    }

    function redraw(what = {}) {
      Object.assign(stale, Object.fromEntries(Object.entries(what).filter(([, is]) => is)));
      if (!due) requestAnimationFrame(drawNow);
      due = true;
    }

    function recolour() {
      const fresh = pens();
      for (const name of Object.keys(fresh)) colours[name].copy(fresh[name]);
      redraw();
    }
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", recolour);
    window.addEventListener("resize", () => redraw());

    return { state, redraw, local, element: canvas };
  }

  /* --- hands on it: drag, wheel, pinch and keys --- */

  function follow(it) {
    const { state, redraw, element } = it;
    const fingers = new Map();
    const clamp = (x, low, high) => Math.min(high, Math.max(low, x));
    const turn = (dx, dy) => {
      state.turn -= dx;
      state.above = clamp(state.above + dy, -1.5, 1.5);
      redraw();
    };
    const closer = (by) => {
      state.zoom = clamp(state.zoom * by, 0.4, 12);
      redraw();
    };
    const apart = () => {
      const [a, b] = [...fingers.values()];
      return Math.hypot(a.x - b.x, a.y - b.y);
    };
    element.addEventListener("pointerdown", (e) => {
      fingers.set(e.pointerId, { x: e.clientX, y: e.clientY });
      element.setPointerCapture(e.pointerId);
    });
    element.addEventListener("pointermove", (e) => {
      const last = fingers.get(e.pointerId);
      if (!last) return;
      const before = fingers.size === 2 ? apart() : 0;
      fingers.set(e.pointerId, { x: e.clientX, y: e.clientY });
      if (before) closer(apart() / before);
      else turn((e.clientX - last.x) / 160, (e.clientY - last.y) / 160);
    });
    for (const end of ["pointerup", "pointercancel"])
      element.addEventListener(end, (e) => fingers.delete(e.pointerId));
    element.addEventListener("wheel", (e) => {
      e.preventDefault();
      closer(Math.exp(-e.deltaY / 500));
    }, { passive: false });
    const keys = {
      ArrowLeft: () => turn(-0.12, 0), ArrowRight: () => turn(0.12, 0),
      ArrowUp: () => turn(0, 0.1), ArrowDown: () => turn(0, -0.1),
      "+": () => closer(1.15), "=": () => closer(1.15), "-": () => closer(1 / 1.15),
    };
    element.addEventListener("keydown", (e) => {
      if (!keys[e.key] || e.ctrlKey || e.metaKey || e.altKey) return;
      e.preventDefault();
      keys[e.key]();
    });
  }

  return { make, follow };
})();
