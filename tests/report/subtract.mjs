// Subtracts cutters from a tool with an independent library: reads {tool: {box_mm, cavity}, cutters}
// from stdin, meshes as {at, triangles}; prints volumes in mm3 and the genus before and after.
import { readFileSync } from "node:fs";
import { pathToFileURL } from "node:url";

const library = (await import(pathToFileURL(process.argv[2] + "/manifold.js"))).default;
const { Manifold, Mesh, setup } = await library().then((m) => (m.setup(), m));
const job = JSON.parse(readFileSync(0, "utf8"));

function solid({ at, triangles }) {
  const mesh = new Mesh({ numProp: 3, vertProperties: new Float32Array(at.flat()), triVerts: new Uint32Array(triangles.flat()) });
  const made = new Manifold(mesh);
  if (made.status() !== "NoError") throw new Error(made.status());
  return made;
}

const [low, high] = job.tool.box_mm;
const block = Manifold.cube(high.map((h, c) => h - low[c])).translate(low);
const tool = block.subtract(solid(job.tool.cavity));
const cutters = job.cutters.map(solid);
const drilled = cutters.reduce((rest, cutter) => rest.subtract(cutter), tool);
console.log(
  JSON.stringify({
    tool: tool.volume(),
    drilled: drilled.volume(),
    inside: cutters.map((cutter) => tool.intersect(cutter).volume()),
    back: Manifold.union([drilled, ...cutters.map((cutter) => tool.intersect(cutter))]).volume(),
    holes: drilled.genus() - tool.genus(),
    whole: cutters.map((cutter) => cutter.volume()),
  }),
);
