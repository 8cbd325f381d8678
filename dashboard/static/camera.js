"use strict";
// Photos of a note: several, each shown small and taken away again by a touch. Where the browser gives the camera to a
// page, the wheel's last photo lies faintly over the picture, so that the same side comes from the same distance; over
// plain http, or when it is refused, the phone's own camera takes over.
(() => {
  const {store, photos} = window.rindwatch;
  const QUALITY = 0.92;
  const WANTED = {audio: false, video: {facingMode: "environment", width: {ideal: 1920}, height: {ideal: 1440}}};
  const taken = new WeakMap();
  const of = (form) => taken.get(form) ?? [];

  function put(form, files) {
    taken.set(form, files);
    const place = form.querySelector("[data-photos]"), count = files.length;
    place.querySelector("[data-photos-say]").textContent = count ? `${count} ${count === 1 ? "photo" : "photos"} taken; Keep saves ${count === 1 ? "it" : "them"}.` : "";
    const row = place.querySelector(".taken") ?? place.appendChild(Object.assign(document.createElement("ul"), {className: "taken"}));
    for (const picture of row.querySelectorAll("img")) URL.revokeObjectURL(picture.src);
    row.replaceChildren(...files.map((file, number) => small(form, file, number)));
  }

  function small(form, file, number) {
    const item = document.createElement("li"), button = Object.assign(document.createElement("button"), {type: "button", className: "quiet"});
    const picture = Object.assign(document.createElement("img"), {src: URL.createObjectURL(file), alt: ""});
    button.setAttribute("aria-label", `Take photo ${number + 1} away`);
    button.append(picture, "✕");
    button.addEventListener("click", () => put(form, of(form).filter((one) => one !== file)));
    item.append(button);
    return item;
  }

  // A second picture of the phone's own camera would push the first out of its field, so they are gathered here.
  document.addEventListener("change", ({target}) => {
    const form = target.form;
    if (target.type !== "file" || !form?.matches("form[data-entry]") || form.dataset.plain !== undefined) return;
    const files = [...target.files];
    target.value = "";
    put(form, [...of(form), ...files]);
  });
  document.addEventListener("reset", ({target}) => { if (of(target).length) put(target, []); });

  // The wheel's last photo: one that still waits on this phone, else the one that came with the round.
  async function lastPhoto(wheel) {
    const me = window.rindwatch.outbox.me().person ?? "";
    const own = (await store.done()).filter(({entry, by}) => by === me && entry.wheel_id === wheel && entry.body.kind !== "looked" && entry.body.photos?.length);
    for (const {entry} of own.sort((one, other) => other.savedMs - one.savedMs)) {
      const content = await store.content(entry.body.photos.at(-1));
      if (content) return URL.createObjectURL(new Blob([content]));
    }
    return window.rindwatch.kept?.wheels?.[wheel]?.photo ?? "";
  }

  let dialog = null, stream = null, shown = null;

  function button(words, act, kind = "") {
    const made = Object.assign(document.createElement("button"), {type: "button", className: `thumb ${kind}`, textContent: words});
    made.addEventListener("click", act);
    return made;
  }

  function build() {
    dialog = Object.assign(document.createElement("dialog"), {className: "camera"});
    dialog.setAttribute("aria-label", "Camera");
    const view = Object.assign(document.createElement("div"), {className: "view"});
    const video = Object.assign(document.createElement("video"), {muted: true, playsInline: true});
    const ghost = Object.assign(document.createElement("img"), {className: "ghost", alt: "The last photo, faintly", hidden: true});
    ghost.addEventListener("error", () => { ghost.hidden = true; });
    view.append(video, ghost);
    const say = Object.assign(document.createElement("p"), {className: "hint"});
    say.setAttribute("role", "status");
    const row = Object.assign(document.createElement("div"), {className: "touch"});
    const less = button("Without the last one", () => {
      ghost.hidden = !ghost.hidden;
      less.textContent = ghost.hidden ? "With the last one" : "Without the last one";
    }, "quiet");
    row.append(button("Take it", () => take().catch(fail)), button("Done", () => dialog.close(), "quiet"));
    dialog.append(view, say, row, less);
    dialog.addEventListener("close", stop);
    document.body.append(dialog);
    shown = {video, ghost, say, less};
  }

  function stop() {
    for (const track of stream?.getTracks() ?? []) track.stop();
    stream = null;
    if (shown.ghost.src.startsWith("blob:")) URL.revokeObjectURL(shown.ghost.src);
    shown.ghost.removeAttribute("src");
    shown.ghost.hidden = true;
  }

  function fail(error) {
    shown.say.textContent = `No picture (${error.name}).`;
  }

  async function take() {
    const {video, say} = shown, canvas = document.createElement("canvas");
    [canvas.width, canvas.height] = [video.videoWidth, video.videoHeight];
    canvas.getContext("2d").drawImage(video, 0, 0);
    const blob = await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", QUALITY));
    const form = dialog.form;
    put(form, [...of(form), new File([blob], `${Date.now()}.jpg`, {type: "image/jpeg"})]);
    navigator.vibrate?.(50);
    say.textContent = `${of(form).length} taken.`;
  }

  async function open(form) {
    stream = await navigator.mediaDevices.getUserMedia(WANTED);
    if (!dialog) build();
    dialog.form = form;
    const {video, ghost, say, less} = shown;
    say.textContent = "";
    video.srcObject = stream;
    dialog.showModal();
    await video.play();
    const wheel = form.closest("[data-wheel]")?.dataset.wheel ?? "";
    const last = await lastPhoto(wheel);
    less.hidden = ghost.hidden = !last;
    if (last) ghost.src = last;
  }

  // The label opens the phone's own camera by itself; where the page may have the camera, that is stopped.
  document.addEventListener("click", (event) => {
    const input = event.target.matches?.("input[type=file][capture]") ? event.target : event.target.closest("label")?.querySelector("input[type=file][capture]");
    const form = input?.form;
    if (!form?.matches("form[data-entry]") || form.dataset.plain !== undefined || !navigator.mediaDevices?.getUserMedia || input.dataset.own !== undefined) return;
    event.preventDefault();
    open(form).catch((error) => {
      input.dataset.own = "";
      form.querySelector("[data-photos-say]").textContent = `This page was given no camera (${error.name}). Touch once more for the phone's own.`;
    });
  });

  photos.taken = of;
})();
