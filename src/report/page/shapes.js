/* shapes.js - from the page's data to triangles and lines: plain arrays, nothing drawn yet. */
"use strict";

const shapes = (() => {
  const SHARP_COS = 0.87; /* edges that turn by more are drawn, and not smoothed over */
  const GROWN = 4; /* layers of cubes outside the cavity that take the nearest arrival */

  function bytes(base64) {
    const text = atob(base64);
    const out = new Uint8Array(text.length);
    for (let i = 0; i < text.length; i++) out[i] = text.charCodeAt(i);
    return out;
  }

  /* The cavity's wall, in mm from `middle`. */
  function wallMesh(data, middle) {
    const packed = new Uint16Array(bytes(data.vertices).buffer);
    const triangles = new Uint32Array(bytes(data.triangles).buffer);
    const vertices = new Float32Array(packed.length);
    for (let i = 0; i < packed.length; i++)
      vertices[i] = data.origin[i % 3] - middle[i % 3] + data.step * packed[i];
    return { vertices, triangles };
  }

  function faceNormals({ vertices: v, triangles: t }) {
    const out = new Float32Array(t.length);
    for (let i = 0; i < t.length; i += 3) {
      const [a, b, c] = [3 * t[i], 3 * t[i + 1], 3 * t[i + 2]];
      const p = [v[b] - v[a], v[b + 1] - v[a + 1], v[b + 2] - v[a + 2]];
      const q = [v[c] - v[a], v[c + 1] - v[a + 1], v[c + 2] - v[a + 2]];
      out[i] = p[1] * q[2] - p[2] * q[1];
      out[i + 1] = p[2] * q[0] - p[0] * q[2];
      out[i + 2] = p[0] * q[1] - p[1] * q[0];
    }
    return out;
  }

  const dot = (a, i, b, j) => a[i] * b[j] + a[i + 1] * b[j + 1] + a[i + 2] * b[j + 2];
  const size = (a, i) => Math.sqrt(dot(a, i, a, i)) || 1;
  const cosine = (a, i, j) => dot(a, i, a, j) / (size(a, i) * size(a, j));

  /* Corner by corner: smooth within a face that bends, apart across a sharp edge. */
  function smoothed(mesh) {
    const { vertices: v, triangles: t } = mesh;
    const face = faceNormals(mesh);
    const first = new Uint32Array(v.length / 3 + 1);
    for (const corner of t) first[corner + 1]++;
    for (let i = 1; i < first.length; i++) first[i] += first[i - 1];
    const around = new Uint32Array(t.length);
    const next = first.slice();
    for (let i = 0; i < t.length; i++) around[next[t[i]]++] = i - (i % 3);
    const position = new Float32Array(3 * t.length);
    const normal = new Float32Array(3 * t.length);
    for (let i = 0; i < t.length; i++) {
      const own = i - (i % 3);
      for (let k = first[t[i]]; k < first[t[i] + 1]; k++)
        if (cosine(face, own, around[k]) > SHARP_COS)
          for (let c = 0; c < 3; c++) normal[3 * i + c] += face[around[k] + c];
      const length = size(normal, 3 * i);
      for (let c = 0; c < 3; c++) {
        normal[3 * i + c] /= length;
        position[3 * i + c] = v[3 * t[i] + c];
      }
    }
    return { position, normal };
  }

  /* Sharp edges, as pairs of places. */
  function sharpEdges(mesh) {
    const { vertices: v, triangles: t } = mesh;
    const face = faceNormals(mesh);
    const seen = new Map();
    const out = [];
    for (let i = 0; i < t.length; i++) {
      const own = i - (i % 3), a = t[i], b = t[own + ((i % 3) + 1) % 3];
      const key = Math.min(a, b) * (v.length / 3) + Math.max(a, b);
      const other = seen.get(key);
      if (other === undefined) seen.set(key, own);
      else if (cosine(face, own, other) < SHARP_COS)
        for (const corner of [a, b]) out.push(v[3 * corner], v[3 * corner + 1], v[3 * corner + 2]);
    }
    return out;
  }

  /* Where a plane (normal, offset: normal . p = offset) cuts the wall, as pairs of places. */
  function section({ vertices: v, triangles: t }, normal, offset) {
    const far = new Float32Array(v.length / 3);
    for (let i = 0; i < far.length; i++) far[i] = dot(v, 3 * i, normal, 0) - offset;
    const out = [];
    for (let i = 0; i < t.length; i += 3)
      for (let k = 0; k < 3; k++) {
        const a = t[i + k], b = t[i + (k + 1) % 3];
        if (far[a] >= 0 === far[b] >= 0) continue;
        const s = far[a] / (far[a] - far[b]);
        for (let c = 0; c < 3; c++) out.push(v[3 * a + c] + s * (v[3 * b + c] - v[3 * a + c]));
      }
    return out;
  }

  /* --- the field of cubes --- */

  /* red: when foam comes, grown a little beyond the wall so that it can be read there; blue: cavity;
   * `code` keeps the bytes as they came. */
  function readField(data) {
    const code = bytes(data.bytes);
    const [nx, ny] = data.n, count = code.length, row = [1, nx, nx * ny];
    const texel = new Uint8Array(3 * count).fill(0);
    let known = new Uint8Array(count);
    for (let i = 0; i < count; i++) {
      texel[3 * i + 2] = code[i] ? 255 : 0;
      known[i] = code[i] > 0 && code[i] <= data.reached ? 1 : 0;
      texel[3 * i] = known[i] ? code[i] : 255;
    }
    for (let pass = 0; pass < GROWN; pass++) {
      const wider = known.slice();
      for (let i = row[2]; i < count - row[2]; i++) {
        if (known[i]) continue;
        let sum = 0, beside = 0;
        for (const step of row)
          for (const j of [i - step, i + step])
            if (known[j]) { sum += texel[3 * j]; beside++; }
        if (beside) { texel[3 * i] = Math.round(sum / beside); wider[i] = 1; }
      }
      known = wider;
    }
    return { data, code, texel, known };
  }

  /* green: air shut in by now; cutOff is by air, in bytes of the scale. True if that changed. */
  function markAir(field, cutOff, nowByte) {
    let changed = false;
    const { code, texel, data } = field;
    for (let i = 0; i < code.length; i++) {
      if (code[i] <= data.reached) continue;
      const shut = cutOff[code[i] - data.reached - 1] <= nowByte ? 255 : 0;
      changed = changed || texel[3 * i + 1] !== shut;
      texel[3 * i + 1] = shut;
    }
    return changed;
  }

  /* The foam's surface by naive surface nets (Gibson 1998): one corner in each cell of eight cubes
   * that the level passes, one square for each pair of neighbours on either side of it. */
  function foamFront(field, level, middle) {
    const { texel, known, data } = field;
    const [nx, ny, nz] = data.n, row = [1, nx, nx * ny];
    const corner = [0, 1, nx, nx + 1, row[2], row[2] + 1, row[2] + nx, row[2] + nx + 1];
    const number = new Int32Array(nx * ny * nz).fill(-1);
    const position = [], normal = [], triangles = [];
    for (let z = 0; z + 1 < nz; z++)
      for (let y = 0; y + 1 < ny; y++)
        for (let x = 0, i = row[2] * z + nx * y; x + 1 < nx; x++, i++) {
          let below = 0, whole = true;
          for (const c of corner) {
            below += texel[3 * (i + c)] <= level;
            whole = whole && known[i + c] === 1;
          }
          if (!whole || below === 0 || below === 8) continue;
          number[i] = position.length / 3;
          place(i, [x, y, z]);
        }
    for (let i = 0; i < number.length; i++) {
      if (number[i] < 0) continue;
      const within = texel[3 * i] <= level;
      for (let a = 0; a < 3; a++) {
        const p = row[(a + 1) % 3], q = row[(a + 2) % 3];
        if (within === texel[3 * (i + row[a])] <= level) continue;
        const square = [number[i], number[i - p], number[i - p - q], number[i - q]];
        if (square.some((n) => n === undefined || n < 0)) continue;
        const [s, t, u, v] = within ? square : square.reverse();
        triangles.push(s, t, u, s, u, v);
      }
    }
    return { position, normal, triangles };

    /* The mean of the cell's crossed edges, and the field's slope there. */
    function place(i, at) {
      const sum = [0, 0, 0], slope = [0, 0, 0];
      let crossed = 0;
      for (let c = 0; c < 8; c++)
        for (let a = 0; a < 3; a++) {
          if (c >> a & 1) continue;
          const d = c | 1 << a, low = texel[3 * (i + corner[c])], high = texel[3 * (i + corner[d])];
          slope[a] += high - low;
          if (low <= level === high <= level) continue;
          const s = (level - low) / (high - low);
          crossed++;
          for (let k = 0; k < 3; k++) sum[k] += k === a ? s : c >> k & 1;
        }
      for (let k = 0; k < 3; k++) {
        position.push(data.origin[k] - middle[k] + data.cube * (at[k] + 0.5 + sum[k] / crossed));
        normal.push(slope[k]);
      }
    }
  }

  /* Places on the wall where each tide line runs, a few hundred a line, to letter it at. */
  function tidePlaces(field, levels, middle) {
    const { code, data } = field;
    const [nx, ny, nz] = data.n, row = [1, nx, nx * ny];
    const lists = levels.map(() => []);
    for (let i = row[2]; i < code.length - row[2]; i++) {
      if (!code[i] || code[i] > data.reached) continue;
      for (let side = 0; side < 6; side++) {
        const a = side >> 1, step = side & 1 ? row[a] : -row[a];
        if (code[i + step]) continue;
        levels.forEach((level, k) => {
          if (Math.abs(code[i] - level) > 2) return;
          const at = [i % nx, Math.floor(i / nx) % ny, Math.floor(i / row[2]) % nz];
          const p = at.map((n, c) => data.origin[c] - middle[c] + data.cube * (n + 0.5));
          p[a] += (side & 1 ? 0.5 : -0.5) * data.cube;
          lists[k].push(p);
        });
      }
    }
    return lists.map((list) => list.filter((_, i) => i % Math.ceil(list.length / 300) === 0));
  }

  return { wallMesh, smoothed, sharpEdges, section, readField, markAir, foamFront, tidePlaces };
})();
