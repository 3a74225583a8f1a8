//! The border between a web page and the core: bytes in, JSON out, through the memory that both see.
//!
//! The page asks for room, writes its request there, has it answered, and reads the answer where it is told. There is one page, and a
//! web page's worker has one thread.

use std::cell::RefCell;
use walkaround::page::Page;

#[derive(Default)]
struct Border {
    page: Page,
    request: Vec<u8>,
    answer: Vec<u8>,
}

thread_local! {
    static BORDER: RefCell<Border> = RefCell::default();
}

/// Room for a request of so many bytes.
#[allow(unsafe_code, reason = "a name that the page can find")]
#[unsafe(no_mangle)]
pub extern "C" fn room(bytes: usize) -> *mut u8 {
    BORDER.with_borrow_mut(|border| {
        border.request.clear();
        border.request.resize(bytes, 0);
        border.request.as_mut_ptr()
    })
}

/// Has the request answered that was written into the room, and says how many bytes the answer has.
#[allow(unsafe_code, reason = "a name that the page can find")]
#[unsafe(no_mangle)]
pub extern "C" fn answer() -> usize {
    BORDER.with_borrow_mut(|border| {
        border.answer = border.page.answer(&border.request);
        border.answer.len()
    })
}

/// Where the answer stands until the next request.
#[allow(unsafe_code, reason = "a name that the page can find")]
#[unsafe(no_mangle)]
pub extern "C" fn answered() -> *const u8 {
    BORDER.with_borrow(|border| border.answer.as_ptr())
}
