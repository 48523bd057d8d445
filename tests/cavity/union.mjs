// Unites bodies, and takes all others out of the first, with an independent library: reads a list of lists of
// {at, triangles} from stdin; prints volume and area of each list's union and of what is left,
// and what each of the others takes up of the first, alone and besides those before it, in mm3 and mm2.
import { readFileSync } from "node:fs";
import { pathToFileURL } from "node:url";

const library = (await import(pathToFileURL(process.argv[2] + "/manifold.js"))).default;
const { Manifold, Mesh } = await library().then((m) => (m.setup(), m));

function solid({ at, triangles }) {
  const made = new Manifold(new Mesh({ numProp: 3, vertProperties: new Float32Array(at.flat()), triVerts: new Uint32Array(triangles.flat()) }));
  if (made.status() !== "NoError") throw new Error(made.status());
  return made;
}

const told = (made) => ({ volume: made.volume(), area: made.surfaceArea() });
const left = (made, count) => (count === 1 ? made[0] : Manifold.difference(made.slice(0, count))).volume();
const cases = JSON.parse(readFileSync(0, "utf8")).map((bodies) => bodies.map(solid));
const answers = cases.map((made) => ({
  union: told(Manifold.union(made)),
  left: told(Manifold.difference(made)),
  alone: made.slice(1).map((body) => made[0].intersect(body).volume()),
  displaced: made.slice(1).map((_, i) => left(made, i + 1) - left(made, i + 2)),
}));
console.log(JSON.stringify(answers));
