// Chunks that arrive late, some of them never: prints the sound that was lost (s) in each case.

const [folder] = process.argv.slice(2);
const { SteadySound } = await import(`${folder}/steady-sound.js`);
const RATE = 16000;
const CHUNK = 512;
const COUNT = 300; // 9.6 s

/** A stream whose page is late by up to ``lateS``, and which loses ``lostS`` at its middle. */
function lost(lateS, lostS, faster = 0) {
  const steady = new SteadySound(COUNT);
  let missing = 0;
  for (let nth = 1; nth <= COUNT; nth += 1) {
    if (nth === COUNT / 2) missing = lostS;
    const spokenS = nth * CHUNK / RATE * (1 + faster) + missing;
    const delayS = lateS * ((nth * 7919) % 16) / 16; // each of 16 delays in turn, none among them
    steady.arrived(1000 + spokenS + delayS, nth * CHUNK);
  }
  return steady.lostS(60 * CHUNK, 280 * CHUNK);
}

console.log(JSON.stringify({
  steady: lost(0, 0), late: lost(0.4, 0), drifting: lost(0.05, 0, 2e-4),
  small: lost(0.05, 0.05), large: lost(0.4, 0.16),
}));
