// How a tally is read: goes to the first thing to mend; boards entered by hand are let go of once booked.
const form = document.getElementById("check");
const first = document.querySelector('.mend [aria-invalid="true"]');
if (first) first.closest("td").scrollIntoView({ block: "nearest", inline: "center" });

form.addEventListener("submit", (event) => {
  const booking = (event.submitter?.getAttribute("formaction") || "").endsWith("/book");
  if (booking && form.dataset.hand.startsWith("entered by hand")) localStorage.removeItem("entered by hand");
});
