"use strict";
// Makes photos small before they are kept: upright, without where they were taken, 1600 pixels at most. What this phone
// cannot read is kept as it is, and the house reads it.
(() => {
  const LONG_SIDE = 1600, QUALITY = 0.82;

  async function redrawn(file) {
    const picture = await createImageBitmap(file);
    try {
      const scale = Math.min(1, LONG_SIDE / Math.max(picture.width, picture.height));
      const canvas = document.createElement("canvas");
      canvas.width = Math.max(1, Math.round(picture.width * scale));
      canvas.height = Math.max(1, Math.round(picture.height * scale));
      canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
      return await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", QUALITY));
    } finally {
      picture.close();
    }
  }

  // An ArrayBuffer rather than a Blob: some browsers' stores lose the latter.
  async function shrink(file) {
    let small = null;
    try {
      small = await redrawn(file);
    } catch (error) {
      console.info(`kept as it is: ${error.name}`);
    }
    const kept = small ?? file;
    return {id: window.rindwatch.ids.newId(), bytes: await kept.arrayBuffer(), type: kept.type};
  }

  async function all(files) {
    const found = [];
    for (const file of files) found.push(await shrink(file)); // one after the other: each takes tens of megabytes
    return found;
  }

  // Those that a form has gathered; camera.js gathers them where it is on the page.
  window.rindwatch.photos = {shrink, all, taken: () => []};
})();
