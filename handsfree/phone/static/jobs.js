// The job of a new visit: one that the app was built with, a file, or the invented one.

const INVENTED = "invented";
const FILE = "file";

/** Holds the chosen job; ``ask`` is Python's, ``changed`` is called after a choice. */
export class Jobs {
  constructor(start, at, element, ask, changed) {
    Object.assign(this, { start, at, element, ask, changed });
    this.chosen = start.jobs[0] ?? start.job;
    this.fault = "";
    this.fresh = true; // what the job names has not been shown yet
    at("door").onchange = () => this.choose(at("door").value);
    at("job").onchange = () => this.open(at("job").files[0]);
  }

  get invented() {
    return this.chosen === this.start.job;
  }

  /** Fills the lists in the words of a language; what the job has chosen comes first. */
  show(language, word) {
    const jobs = this.start.jobs.map((job, nth) => [String(nth), titleOf(job)]);
    const own = this.file === undefined ? [] : [[FILE, titleOf(this.file)]];
    fill(this, "door", [...jobs, ...own, [INVENTED, word("invented_job")]], this.value);
    const language_ = this.start.procedures[language] ? language : "en";
    const listed = this.start.procedures[language_].map(({ name, title }) => [name, title]);
    const { procedure, guide } = this.chosen;
    const named = (list, name) => (name === "" || list.some(([each]) => each === name) ? list : [[name, name], ...list]);
    const kept = this.at("procedure").value;
    const usual = listed.some(([name]) => name === kept) ? kept : "controller-replaced-pair";
    fill(this, "procedure", named(listed, procedure), this.fresh ? procedure || usual : usual);
    const guides = this.start.guides[language_].map(({ name, title }) => [name, title]);
    const before = this.at("guide").value;
    const usualGuide = guides.some(([name]) => name === before) ? before : "";
    fill(this, "guide", [["", word("no_guide")], ...named(guides, guide)], this.fresh ? guide : usualGuide);
    this.fresh = false;
    this.at("about").textContent = this.about(word);
  }

  about(word) {
    const { last, left_out, date } = this.chosen;
    return [
      this.invented ? word("invented") : "",
      date ? word("planned", { date }) : "",
      last ? word("last_visit", { date: last }) : "",
      left_out ? word("left_out") : "",
    ].filter((text) => text !== "").join(" ");
  }

  get value() {
    if (this.invented) return INVENTED;
    return this.chosen === this.file ? FILE : String(this.start.jobs.indexOf(this.chosen));
  }

  choose(value) {
    this.take({ [INVENTED]: this.start.job, [FILE]: this.file }[value] ?? this.start.jobs[Number(value)]);
  }

  async open(file) {
    if (file === undefined) return;
    const text = await file.text();
    const about = await this.ask("job", { text });
    if (about.error !== undefined) {
      this.fault = about.error;
      this.changed();
      return;
    }
    this.file = { text, ...about };
    this.take(this.file);
  }

  take(job) {
    this.fault = "";
    this.chosen = job;
    this.fresh = true;
    this.changed();
  }

  /** The text of the job for a visit in a language; only the invented one is free in that. */
  text(language) {
    const { text } = this.chosen;
    return this.invented && language === "es" ? text.replace("[job]", '[job]\nlanguage = "es"') : text;
  }

  /** A new name for the visit's folder. */
  name(now) {
    const short = this.chosen.reference.toLowerCase().replace(/[^a-z0-9]+/g, "-").replace(/^-|-$/g, "");
    const at = now.toISOString().replace(/[-:]/g, "").replace("T", "-").slice(0, 15);
    return `${short.slice(0, 60) || "visit"}-${at}`;
  }
}

function titleOf({ reference, site, door }) {
  return [reference, site, door].filter((text) => text).join(" · ");
}

function fill({ at, element }, id, options, chosen) {
  at(id).replaceChildren(...options.map(([value, text]) => element("option", text, { value })));
  at(id).value = chosen;
}

/** The zone of this phone as the journal has it: '-05:00 EST'. */
export function zoneHere(now) {
  const minutes = -now.getTimezoneOffset();
  const two = (number) => String(Math.floor(number)).padStart(2, "0");
  const offset = `${minutes < 0 ? "-" : "+"}${two(Math.abs(minutes) / 60)}:${two(Math.abs(minutes) % 60)}`;
  const parts = new Intl.DateTimeFormat("en-US", { timeZoneName: "short" }).formatToParts(now);
  const name = parts.find(({ type }) => type === "timeZoneName")?.value ?? "";
  return /^[A-Z]{2,5}$/.test(name) && name !== "GMT" ? `${offset} ${name}` : offset;
}
