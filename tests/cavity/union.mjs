// Unites bodies with an independent library: reads a list of lists of {at, triangles} from stdin;
// prints volume and area of each list's union, in mm3 and mm2.
import { readFileSync } from "node:fs";
import { pathToFileURL } from "node:url";

const library = (await import(pathToFileURL(process.argv[2] + "/manifold.js"))).default;
const { Manifold, Mesh } = await library().then((m) => (m.setup(), m));

function solid({ at, triangles }) {
  const made = new Manifold(new Mesh({ numProp: 3, vertProperties: new Float32Array(at.flat()), triVerts: new Uint32Array(triangles.flat()) }));
  if (made.status() !== "NoError") throw new Error(made.status());
  return made;
}

const unions = JSON.parse(readFileSync(0, "utf8")).map((bodies) => Manifold.union(bodies.map(solid)));
console.log(JSON.stringify(unions.map((u) => ({ volume: u.volume(), area: u.surfaceArea() }))));
