// Lists what ical.js makes of calendars: node expand.mjs FROM TO FILE...
//
// FROM and TO are instants, 2026-12-01T00:00:00Z. Each occurrence of a VEVENT or VTODO that starts from FROM on and
// before TO becomes one line of JSON: file, uid, start (local), tzid, utc, summary. Whole days start at midnight, have
// no tzid, and their utc is null. Local times are turned into UTC by the VTIMEZONE of the file and by nothing else.

import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import process from "node:process";

const home = process.env.PONDROUND_READERS;
const loaded = createRequire(join(home, "package.json"))("ical.js");
const ICAL = loaded.default ?? loaded;

const [from, to, ...files] = process.argv.slice(2);
const first = Date.parse(from) / 1000;
const end = Date.parse(to) / 1000;
if (!(first < end)) throw new Error(`FROM ${from} is not before TO ${to}`);

for (const file of files) {
  // A zone of the file before must not help this one.
  ICAL.TimezoneService.reset();
  const calendar = new ICAL.Component(ICAL.parse(readFileSync(file, "utf8")));
  for (const zone of calendar.getAllSubcomponents("vtimezone")) ICAL.TimezoneService.register(zone);
  const lines = [];
  for (const kind of ["vevent", "vtodo"]) {
    for (const entry of calendar.getAllSubcomponents(kind)) {
      const uid = entry.getFirstPropertyValue("uid");
      const summary = entry.getFirstPropertyValue("summary");
      for (const time of starts(entry)) {
        const stamp = time.toUnixTime();
        if (stamp >= end) break;
        if (stamp < first) continue;
        lines.push(
          JSON.stringify({
            file,
            uid,
            start: wall(time),
            tzid: time.isDate ? null : time.zone.tzid,
            utc: time.isDate ? null : `${new Date(stamp * 1000).toISOString().slice(0, 19)}Z`,
            summary,
          }),
        );
      }
    }
  }
  if (lines.length) process.stdout.write(lines.join("\n") + "\n");
}

function* starts(entry) {
  const dtstart = entry.getFirstPropertyValue("dtstart");
  if (!entry.hasProperty("rrule") && !entry.hasProperty("rdate")) {
    yield dtstart;
    return;
  }
  const expansion = new ICAL.RecurExpansion({ component: entry, dtstart });
  for (let time = expansion.next(); time; time = expansion.next()) yield time;
}

function wall(time) {
  const two = (number) => String(number).padStart(2, "0");
  const date = `${String(time.year).padStart(4, "0")}-${two(time.month)}-${two(time.day)}`;
  return `${date}T${two(time.hour)}:${two(time.minute)}:${two(time.second)}`;
}
