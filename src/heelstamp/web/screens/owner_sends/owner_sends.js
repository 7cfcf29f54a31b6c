// A picture that was chosen goes up at once, and says how far it is. Without this file each picture
// is sent with its button.
for (const form of document.querySelectorAll('form[enctype="multipart/form-data"]')) {
  const button = form.querySelector("button");
  const going = form.querySelector(".going");
  button.hidden = true;
  form.elements.photo.addEventListener("change", () => {
    if (!form.elements.photo.files.length) return;
    const request = new XMLHttpRequest(); // the only way to see how far an upload is
    request.open("POST", form.action);
    request.upload.addEventListener("progress", (event) => {
      if (event.lengthComputable) going.textContent = `Sending: ${Math.round((100 * event.loaded) / event.total)} %`;
    });
    request.addEventListener("load", () => {
      if (request.status === 200) {
        going.textContent = "Sent.";
        location.replace(`/owner-sends#${form.elements.slot.value}`);
        location.reload();
        return;
      }
      const told = new DOMParser().parseFromString(request.responseText, "text/html");
      going.textContent = told.querySelector(".refusal")?.textContent.trim() || "It was not taken. Try again.";
    });
    request.addEventListener("error", () => {
      going.textContent = "The shop cannot be reached just now. Choose it again in a while.";
    });
    going.textContent = "Sending";
    request.send(new FormData(form));
  });
}
