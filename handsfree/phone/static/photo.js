// Draws a picture anew, upright and no longer than a visit keeps: only its pixels stay.

export const MOST_BYTES = 50_000_000;
const MOST_PIXELS = 80_000_000;
const LONGEST_SIDE = 3000;
const QUALITY = 0.85;

/** What Python takes of a picture file. Throws an error named as a word of words.json. */
export async function drawn(file) {
  if (file.size > MOST_BYTES) throw new Error("photo_large");
  const source = await file.arrayBuffer();
  const picture = await createImageBitmap(new Blob([source]), { imageOrientation: "from-image" })
    .catch(() => { throw new Error("photo_bad"); });
  try {
    if (picture.width * picture.height > MOST_PIXELS) throw new Error("photo_large");
    const scale = Math.min(1, LONGEST_SIDE / Math.max(picture.width, picture.height));
    const canvas = document.createElement("canvas");
    canvas.width = Math.max(1, Math.round(picture.width * scale));
    canvas.height = Math.max(1, Math.round(picture.height * scale));
    const brush = canvas.getContext("2d", { alpha: false });
    if (brush === null) throw new Error("photo_bad");
    brush.fillStyle = "#fff"; // behind what is transparent
    brush.fillRect(0, 0, canvas.width, canvas.height);
    brush.imageSmoothingQuality = "high";
    brush.drawImage(picture, 0, 0, canvas.width, canvas.height);
    const jpeg = await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", QUALITY));
    if (jpeg === null) throw new Error("photo_bad");
    return {
      content: new Uint8Array(await jpeg.arrayBuffer()), source: await sha256(source), called: file.name,
    };
  } finally {
    picture.close();
  }
}

async function sha256(bytes) {
  const hash = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return Array.from(hash, (byte) => byte.toString(16).padStart(2, "0")).join("");
}
