// A photo is made small before it is kept here: a wafer is seen as well on 1600 points as on 6000.
const MOST = 1600, QUALITY = 0.85;

/** The picture as a JPEG of sane size, the right way up and without where it was taken; the file itself where that fails. */
export async function small(file) {
  try {
    const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
    const scale = Math.min(1, MOST / Math.max(picture.width, picture.height));
    const sheet = document.createElement("canvas");
    sheet.width = Math.round(picture.width * scale);
    sheet.height = Math.round(picture.height * scale);
    sheet.getContext("2d").drawImage(picture, 0, 0, sheet.width, sheet.height);
    picture.close();
    return (await new Promise((done) => sheet.toBlob(done, "image/jpeg", QUALITY))) || file;
  } catch {
    return file;
  }
}
