// The queue tells when something new was handed in, without losing what was ticked or typed; and
// what there is to say of each, one after the other, as it is worked out.

import { told } from "./words.js";

const news = document.getElementById("news");
const stream = new EventSource("/queue/events");
stream.onmessage = (event) => { news.hidden = Number(event.data) <= Number(news.dataset.count); };

const FEW = 2; // asked for at a time, so that students do not wait behind the whole queue
const places = [...document.querySelectorAll(".verdict[data-of]")];

async function tell(place) {
  const path = `/queue/${encodeURIComponent(place.dataset.of)}/verdict`;
  const answer = await fetch(path, { headers: { Accept: "application/json" } });
  const words = await answer.json().catch(() => ({}));
  const said = place.querySelector(".said");
  if (!answer.ok) {
    said.textContent = words.sentence ?? "";
    place.dataset.severity = words.sentence ? "stop" : "";
    return;
  }
  place.dataset.severity = words.severity;
  said.textContent = words.sentence || told("No findings.");
  if (words.n_more) said.textContent += ` ${told("And {number} more.", { number: words.n_more })}`;
  place.querySelector(".takes").textContent = words.print_time
    ? told("About {time} to print; sheet {sheet}.", { time: words.print_time, sheet: words.sheet })
    : told("Sheet {sheet}.", { sheet: words.sheet });
}

async function tellAll() {
  for (let place = places.shift(); place; place = places.shift()) await tell(place).catch(() => {});
}

for (let n = 0; n < FEW; n += 1) tellAll();
