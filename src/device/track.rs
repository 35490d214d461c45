//! The rest of a class as one real track.
//!
//! Phones freeze a hidden page that merely has sound laid ahead; a track that plays they let go on,
//! and show it on the lock screen. Each call is rendered once, and copied to where it sounds.

use std::cell::RefCell;
use std::rc::Rc;

use js_sys::{Array, Int16Array, Uint8Array};
use wasm_bindgen::JsCast as _;
use wasm_bindgen_futures::JsFuture;
use web_sys::{AudioBuffer, Blob, BlobPropertyBag, HtmlAudioElement, OfflineAudioContext, Url};

use super::tones::play;
use crate::cue::{Call, tone_ms};
use crate::run::Sounding;

use super::js;

/// Enough for tones up to 2.5 kHz with an overtone; an hour is 58 MB, which lies outside the
/// page's own memory.
const RATE: u32 = 8_000;
const HEADER: u32 = 44;
/// A track that is further off than this is moved: a seek is heard, a tenth of a second is not.
const MOST_OFF_MS: f64 = 80.0;

/// A track, once it is made.
#[derive(Clone, Default)]
pub struct Track {
    inner: Rc<RefCell<Inner>>,
}

#[derive(Default)]
struct Inner {
    element: Option<HtmlAudioElement>,
    address: Option<String>,
    /// The instant of the track's start.
    from: i64,
    clips: Vec<(Call, Vec<i16>)>,
    /// Counts what was asked for: of two that are made at once the later one counts.
    asked: u32,
}

impl Track {
    /// Makes the element, in the handler of a touch, which is when phones allow it to play later.
    pub fn unlock(&self) {
        let mut inner = self.inner.borrow_mut();
        if inner.element.is_none() {
            inner.element = HtmlAudioElement::new().ok();
        }
    }

    /// Makes the track of what sounds from an instant until another, and tells when it is made.
    pub fn make(&self, calls: Vec<Sounding>, from: i64, until: i64, made: impl FnOnce() + 'static) {
        let asked = {
            let mut inner = self.inner.borrow_mut();
            inner.asked += 1;
            inner.asked
        };
        let this = self.clone();
        js::later(async move {
            for sounding in &calls {
                let kind = sounding.call;
                let known = |(call, _): &(Call, Vec<i16>)| *call == kind;
                if this.inner.borrow().clips.iter().any(known) {
                    continue;
                }
                let Some(clip) = clip(kind).await else { return };
                this.inner.borrow_mut().clips.push((kind, clip));
            }
            if this.inner.borrow().asked == asked {
                this.inner.borrow_mut().put(&calls, from, until);
                made();
            }
        });
    }

    /// Plays from an instant of the run's clock on. Calls back where the browser refuses.
    pub fn play(&self, now: f64, volume: f32, refused: impl FnOnce() + 'static) {
        let inner = self.inner.borrow();
        let Some(element) = inner.element.as_ref().filter(|_| inner.address.is_some()) else {
            // Its answer comes later, as a browser's does.
            return js::later(async move { refused() });
        };
        element.set_volume(f64::from(volume));
        element.set_current_time(((now - inner.from as f64) / 1000.0).max(0.0));
        if let Ok(playing) = element.play() {
            // Refused where the page was never touched; given up where it was paused meanwhile.
            let element = element.clone();
            js::later(async move {
                if JsFuture::from(playing).await.is_err() && element.paused() {
                    refused();
                }
            });
        }
    }

    /// Moves a track that plays to where it should be by now.
    pub fn follow(&self, now: f64) {
        let inner = self.inner.borrow();
        let Some(element) = inner.element.as_ref().filter(|element| !element.paused()) else {
            return;
        };
        let should = now - inner.from as f64;
        if (element.current_time() * 1000.0 - should).abs() > MOST_OFF_MS {
            element.set_current_time((should / 1000.0).max(0.0));
        }
    }

    /// Stands still.
    pub fn pause(&self) {
        if let Some(element) = &self.inner.borrow().element {
            // An element that does not play has nothing to refuse.
            let _ = element.pause();
        }
    }

    /// Lets the track go, also one that is being made.
    pub fn drop_track(&self) {
        self.pause();
        let mut inner = self.inner.borrow_mut();
        inner.asked += 1;
        inner.forget();
    }
}

impl Inner {
    fn forget(&mut self) {
        if let Some(address) = self.address.take() {
            if let Some(element) = &self.element {
                element.set_src("");
            }
            // What has no address any more needs none revoked.
            let _ = Url::revoke_object_url(&address);
        }
    }

    fn put(&mut self, calls: &[Sounding], from: i64, until: i64) {
        let frames = ((until - from).max(0) as u64 * u64::from(RATE) / 1000) as u32;
        let bytes = Uint8Array::new_with_length(HEADER + 2 * frames);
        bytes.set(&Uint8Array::from(header(frames).as_slice()), 0);
        let samples = Int16Array::new_with_byte_offset(&bytes.buffer(), HEADER);
        for sounding in calls {
            let clip = self.clips.iter().find(|(call, _)| *call == sounding.call);
            let at = (sounding.at - from).max(0) as u64 * u64::from(RATE) / 1000;
            let Some((_, clip)) = clip.filter(|_| at < u64::from(frames)) else {
                continue;
            };
            let at = at as u32;
            let until = frames.min(at + clip.len() as u32);
            samples
                .subarray(at, until)
                .copy_from(&clip[..(until - at) as usize]);
        }
        let options = BlobPropertyBag::new();
        options.set_type("audio/wav");
        let blob = Blob::new_with_u8_array_sequence_and_options(&Array::of1(&bytes), &options);
        let address = blob.and_then(|blob| Url::create_object_url_with_blob(&blob));
        let (Ok(address), Some(element)) = (address, &self.element) else {
            return;
        };
        let plays = !element.paused();
        element.set_src(&address);
        if plays {
            let _ = element.play();
        }
        if let Some(old) = self.address.replace(address) {
            let _ = Url::revoke_object_url(&old);
        }
        self.from = from;
    }
}

/// The head of a WAV file: PCM, one channel, 16 bits (the RIFF form of IBM and Microsoft, 1991,
/// from memory).
fn header(frames: u32) -> Vec<u8> {
    let data = 2 * frames;
    let mut head = Vec::with_capacity(HEADER as usize);
    head.extend(b"RIFF");
    head.extend((HEADER - 8 + data).to_le_bytes());
    head.extend(b"WAVEfmt ");
    head.extend(16_u32.to_le_bytes());
    head.extend(1_u16.to_le_bytes());
    head.extend(1_u16.to_le_bytes());
    head.extend(RATE.to_le_bytes());
    head.extend((2 * RATE).to_le_bytes());
    head.extend(2_u16.to_le_bytes());
    head.extend(16_u16.to_le_bytes());
    head.extend(b"data");
    head.extend(data.to_le_bytes());
    head
}

/// A call's samples.
async fn clip(call: Call) -> Option<Vec<i16>> {
    let frames = (tone_ms(call) as u32 + 20) * RATE / 1000;
    let context = OfflineAudioContext::new_with_number_of_channels_and_length_and_sample_rate(
        1,
        frames,
        RATE as f32,
    )
    .ok()?;
    play(&context, &context.destination(), call, 0.0, &mut |_, _| {}).ok()?;
    let rendered = JsFuture::from(context.start_rendering().ok()?).await.ok()?;
    let buffer: AudioBuffer = rendered.dyn_into().ok()?;
    let samples = buffer.get_channel_data(0).ok()?;
    let loud = f32::from(i16::MAX);
    Some(
        samples
            .iter()
            .map(|s| (s.clamp(-1.0, 1.0) * loud) as i16)
            .collect(),
    )
}
