// Tells when the browser lost sound: then less of it arrived than time went by.

const RATE = 16000;
const WINDOW = 0.5 * RATE; // chunks arrive late one by one; of so many, one is on time
const CLOCKS_S = 0.02; // the microphone's clock and the page's may part by so much in a run

export class SteadySound {
  constructor(kept) {
    this.kept = kept; // chunks
    this.lags = [];
  }

  /** Takes the arrival (s) of a chunk that ends at this sample. */
  arrived(nowS, end) {
    this.lags.push({ end, lag: nowS - end / RATE });
    if (this.lags.length > this.kept) this.lags.shift();
  }

  /** The sound that was lost between two samples (s), 0 for what two clocks may part by. */
  lostS(from, to) {
    const least = (low, high) => Math.min(
      ...this.lags.filter(({ end }) => low <= end && end <= high).map(({ lag }) => lag));
    const lost = least(to - WINDOW, Infinity) - least(from - WINDOW, from + WINDOW);
    return lost > CLOCKS_S ? lost : 0;
  }
}
