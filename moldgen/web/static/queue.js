// The queue tells when something new was handed in, without losing what was ticked or typed.

const news = document.getElementById("news");
const stream = new EventSource("/queue/events");
stream.onmessage = (event) => { news.hidden = Number(event.data) <= Number(news.dataset.count); };
