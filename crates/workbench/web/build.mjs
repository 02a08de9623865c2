// Builds script and style sheet into ../static, or into the folder that is named.
import { build } from "esbuild";

const outdir = process.argv[2] ?? "../static";
const common = { bundle: true, charset: "utf8", legalComments: "none", outdir, logLevel: "warning" };
await build({ ...common, entryPoints: { workbench: "src/main.ts" }, format: "iife", target: "es2022" });
await build({ ...common, entryPoints: { workbench: "css/workbench.css" } });
