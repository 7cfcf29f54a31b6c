// A signature drawn with finger or pen: strokes of whole numbers in a square field of 1000, put into
// the form's hidden field. Without this script the form takes a signature on paper alone.

const FIELD = 1000;

function signing(form) {
  const canvas = form.querySelector("canvas");
  const kept = form.querySelector("[name=strokes]");
  const pen = canvas.getContext("2d");
  const strokes = [];
  let stroke = null;
  form.querySelector(".drawing").hidden = false;

  const at = (event) => {
    const box = canvas.getBoundingClientRect();
    const part = (value) => Math.max(0, Math.min(FIELD, Math.round(value * FIELD)));
    return [part((event.clientX - box.left) / box.width), part((event.clientY - box.top) / box.height)];
  };
  const draw = () => {
    pen.clearRect(0, 0, FIELD, FIELD);
    pen.lineWidth = 6;
    pen.lineJoin = pen.lineCap = "round";
    pen.strokeStyle = getComputedStyle(canvas).color;
    for (const one of strokes) {
      pen.beginPath();
      one.forEach(([x, y], index) => (index ? pen.lineTo(x, y) : pen.moveTo(x, y)));
      pen.stroke();
    }
    kept.value = strokes.length ? JSON.stringify(strokes) : "";
  };
  canvas.addEventListener("pointerdown", (event) => {
    canvas.setPointerCapture(event.pointerId);
    strokes.push((stroke = [at(event)]));
    event.preventDefault();
  });
  canvas.addEventListener("pointermove", (event) => {
    if (stroke) {
      stroke.push(at(event));
      draw();
    }
  });
  for (const end of ["pointerup", "pointercancel"]) {
    canvas.addEventListener(end, () => {
      stroke = null;
      draw();
    });
  }
  form.querySelector(".anew").addEventListener("click", () => {
    strokes.length = 0;
    draw();
  });
}

document.querySelectorAll("form.signing").forEach(signing);
