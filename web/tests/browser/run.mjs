// All journeys in a browser. ULLAGE_PROGRAM names the program; without it only those against the stand-in run.
//   node tests/browser/run.mjs [what a name has, a regular expression]
import { floorTests } from './floor.mjs';
import { deskTests } from './desk.mjs';
import { benchDeskTests } from './desk-bench.mjs';
import { planDeskTests } from './desk-plan.mjs';
import { steerDeskTests } from './desk-steer.mjs';
import { launch, run, shots } from './harness.mjs';

const dist = new URL('../../dist/', import.meta.url).pathname;
const browser = await launch();
let result = { passed: 0, failed: 1 };
try {
  const standIn = [...floorTests(browser, dist), ...deskTests(browser, dist), ...planDeskTests(browser, dist), ...steerDeskTests(browser, dist), ...benchDeskTests(browser, dist)];
  const program = [];
  if (process.env.ULLAGE_PROGRAM) {
    program.push(...(await import('./program.mjs')).programTests(browser, process.env.ULLAGE_PROGRAM));
    program.push(...(await import('./bench.mjs')).benchTests(browser, process.env.ULLAGE_PROGRAM));
  }
  result = await run([standIn, program], process.argv[2]);
} finally {
  await browser.close();
}
console.log(`pictures in ${shots}`);
console.log(`${result.passed} passed, ${result.failed} failed`);
process.exit(result.failed ? 1 : 0);
