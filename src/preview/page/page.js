const token = document.querySelector('meta[name="token"]').content;
const events = new EventSource(`/events?s=${token}`);
events.addEventListener("state", (event) => {
  document.getElementById("state").textContent = JSON.stringify(JSON.parse(event.data), null, 1);
});
