// The engine's thread: the page's own program, entered by another door.
import init, { worker_main } from './solewright.js';

await init({ module_or_path: new URL('./solewright_bg.wasm', import.meta.url) });
worker_main();
