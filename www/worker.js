// The engine's thread: the page's own program, entered by another door.
import init, { worker_main } from './solewright.js';

await init();
worker_main();
