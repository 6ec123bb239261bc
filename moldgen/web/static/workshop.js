// The workshop page tells how far a class is, and shows it when it is made.

const share = document.getElementById("share");

if (share) {
  const stream = new EventSource("/workshop/events");
  stream.onmessage = (event) => {
    const state = JSON.parse(event.data);
    if (!state.is_running) {
      stream.close();
      location.reload();
      return;
    }
    share.value = state.share;
    if (state.told) document.getElementById("told").textContent = state.told;
  };
}
