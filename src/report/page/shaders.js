/* shaders.js - how the model is inked: a plain matt wall, cream foam, hatched tool and air, and one
 * pen for every line. Coordinates are millimetres from the middle of the tool. */
"use strict";

const shaders = (() => {
  /* What every surface asks: is this side of the cut kept, and what does the field say here?
   * field: red when foam comes (a byte of the scale), green air shut in by now, blue cavity. */
  const common = `
    precision highp float;
    precision highp sampler3D;
    uniform sampler3D field;
    uniform vec3 fieldFrom, fieldSize;
    uniform vec4 cut;
    uniform float now;
    uniform float tides[16];
    uniform int tideCount;
    uniform vec3 paper, ink, foam, tide, air, wall, rule, along, across;
    uniform float hatch;
    varying vec3 place;

    bool removed() { return dot(cut.xyz, place) + cut.w < 0.0; }
    vec3 read() { return texture(field, (place - fieldFrom) / fieldSize).rgb; }
    float stripe(float at, float share) {
      float w = fwidth(at), f = abs(fract(at) - 0.5) * 2.0;
      return 1.0 - smoothstep(share - w, share + w, f);
    }
    vec3 airHatch(vec3 ground, vec2 at) {
      return mix(ground, air, stripe((at.x - at.y) / (0.8 * hatch), 0.34));
    }
    vec3 withTides(vec3 ground, float arrival) {
      float w = max(fwidth(arrival), 1e-5), dash = fract((dot(place, along) + dot(place, across)) / hatch);
      for (int i = 0; i < 16; i++) {
        if (i >= tideCount || tides[i] > now) break;
        float near = 1.0 - smoothstep(0.5, 1.3, abs(arrival - tides[i]) / w);
        ground = mix(ground, tide, near * step(0.35, dash));
      }
      return ground;
    }
    vec3 matt(vec3 colour, vec3 normal) {
      float light = dot(normal, normalize(vec3(-0.5, 0.7, 0.6)));
      return colour * (0.8 + 0.2 * smoothstep(-0.6, 1.0, light));
    }`;

  const vertex = `
    varying vec3 place, turned;
    void main() {
      place = position;
      turned = normalMatrix * normal;
      gl_Position = projectionMatrix * modelViewMatrix * vec4(position, 1.0);
    }`;

  const wall = `${common}
    varying vec3 turned;
    void main() {
      if (removed()) discard;
      vec3 here = read(), normal = normalize(gl_FrontFacing ? turned : -turned);
      vec3 colour = here.r <= now ? foam : wall;
      colour = matt(colour, normal);
      if (here.g > 0.5) colour = airHatch(wall, vec2(dot(place, along), dot(place, across)));
      colour = withTides(colour, here.r);
      float edge = abs(normal.z), turn = fwidth(edge);
      if (turn > 1e-4 && turn < 0.3) colour = mix(ink, colour, smoothstep(0.8, 2.2, edge / turn));
      gl_FragColor = vec4(colour, 1.0);
    }`;

  /* What is cast in: plain, crossed with thin lines; where the cut opens it, its inside is flat. */
  const insert = `${common}
    varying vec3 turned;
    void main() {
      if (removed()) discard;
      vec2 at = vec2(dot(place, along), dot(place, across)) / (0.7 * hatch);
      vec3 ground = mix(paper, rule, max(stripe(at.x, 0.12), stripe(at.y, 0.12)));
      gl_FragColor = vec4(gl_FrontFacing ? matt(ground, normalize(turned)) : mix(ground, rule, 0.5), 1.0);
    }`;

  const front = `${common}
    varying vec3 turned;
    void main() {
      vec3 here = read();
      if (removed() || here.b < 0.5) discard;
      vec3 normal = normalize(turned);
      gl_FragColor = vec4(matt(foam, normal.z < 0.0 ? -normal : normal), 1.0);
    }`;

  /* The cut through the cavity: foam and shut-in air are solid, the rest is looked into. */
  const cutCavity = `${common}
    uniform vec3 cutAlong, cutAcross;
    void main() {
      vec3 here = read();
      vec2 at = vec2(dot(place, cutAlong), dot(place, cutAcross));
      if (here.g > 0.5) {
        gl_FragColor = vec4(airHatch(paper, at), 1.0);
        return;
      }
      if (here.r > now) discard;
      float edge = (now - here.r) / max(fwidth(here.r), 1e-5);
      vec3 colour = withTides(foam, here.r);
      gl_FragColor = vec4(mix(ink, colour, smoothstep(0.6, 1.6, edge)), 1.0);
    }`;

  const cutTool = `${common}
    uniform vec3 cutAlong, cutAcross, low, high;
    void main() {
      if (any(lessThan(place, low)) || any(greaterThan(place, high))) discard;
      vec2 at = vec2(dot(place, cutAlong), dot(place, cutAcross));
      gl_FragColor = vec4(mix(paper, rule, stripe((at.x + at.y) / hatch, 0.14)), 1.0);
    }`;

  /* A line of even width on the screen: two triangles a piece, spread by the vertex shader. */
  const penVertex = `
    attribute vec3 from, to;
    attribute vec2 side; /* which end; which edge of the line */
    uniform vec2 screen;
    uniform float width;
    varying vec3 place;
    varying float run;
    void main() {
      vec4 a = projectionMatrix * modelViewMatrix * vec4(from, 1.0);
      vec4 b = projectionMatrix * modelViewMatrix * vec4(to, 1.0);
      vec2 way = (b.xy - a.xy) * screen;
      float length = max(length(way), 1e-6);
      vec2 off = vec2(-way.y, way.x) / length * side.y * width / screen;
      place = side.x > 0.5 ? to : from;
      run = side.x * length * 0.5;
      gl_Position = side.x > 0.5 ? b : a;
      gl_Position.xy += off;
      gl_Position.z -= 0.0008;
    }`;

  const pen = `
    precision highp float;
    uniform vec4 cut;
    uniform vec3 colour;
    uniform float dash, clipped;
    varying vec3 place;
    varying float run;
    void main() {
      if (clipped > 0.5 && dot(cut.xyz, place) + cut.w < -1e-3) discard;
      if (dash > 0.0 && fract(run / dash) > 0.6) discard;
      gl_FragColor = vec4(colour, 1.0);
    }`;

  const nothing = `${common}
    void main() {
      if (removed()) discard;
      gl_FragColor = vec4(0.0);
    }`;

  return { vertex, wall, insert, front, cutCavity, cutTool, penVertex, pen, nothing };
})();
