/* Where the handbook is read from files, browsers refuse to start a worker, and the search would have none. Here a hidden frame
   takes its place: the script of the worker runs in it, and messages go to and fro. The script looks for the name IFrameWorker. */
if (location.protocol === "file:") {
  window.IFrameWorker = class extends EventTarget {
    constructor(url) {
      super()
      this.onmessage = null
      this.frame = document.createElement("iframe")
      this.frame.hidden = true
      this.ready = new Promise((resolve, reject) => {
        // The empty document of the frame is there at once in some browsers, later in others.
        const begin = () => this.begin(new URL(url, document.baseURI).href).then(resolve, reject)
        this.frame.addEventListener("load", begin, { once: true })
        document.body.append(this.frame)
      })
    }

    begin(url) {
      const inside = this.frame.contentWindow
      inside.postMessage = (data) => this.receive(data)
      inside.importScripts = (...urls) => urls.reduce((last, next) => last.then(() => this.load(next)), Promise.resolve())
      return this.load(url)
    }

    load(url) {
      const page = this.frame.contentDocument
      const script = page.createElement("script")
      script.src = url
      return new Promise((resolve, reject) => {
        script.addEventListener("load", resolve)
        script.addEventListener("error", reject)
        page.body.append(script)
      })
    }

    receive(data) {
      const message = new MessageEvent("message", { data })
      this.dispatchEvent(message)
      if (this.onmessage) this.onmessage(message)
    }

    postMessage(data) {
      this.ready.then(() => this.frame.contentWindow.dispatchEvent(new MessageEvent("message", { data })))
    }

    terminate() {
      this.frame.remove()
    }
  }
  window.Worker = window.IFrameWorker
}
