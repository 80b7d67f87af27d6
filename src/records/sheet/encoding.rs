//! From the bytes of a sheet to its text: UTF-8, UTF-16 with a mark, or Windows-1252.

use encoding_rs::{UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};

use crate::records::MAX_BYTES;

/// How the letters of a sheet are stored.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Encoding {
    /// UTF-8, with or without a mark at the beginning.
    Utf8,
    /// UTF-16, told by its mark.
    Utf16,
    /// Windows-1252: what is not UTF-8 is taken for this.
    Windows1252,
}

impl Encoding {
    /// Its name in words.
    pub fn name(self) -> &'static str {
        match self {
            Encoding::Utf8 => "UTF-8",
            Encoding::Utf16 => "UTF-16",
            Encoding::Windows1252 => "Windows-1252",
        }
    }
}

/// The text of a sheet, and how it was stored.
///
/// # Errors
///
/// A message for what is no sheet: a workbook, a file that is too large, UTF-16 that is broken or
/// has no mark.
pub fn decode(bytes: &[u8]) -> Result<(String, Encoding), String> {
    if bytes.len() > MAX_BYTES {
        return Err(format!(
            "the sheet has {} MiB, and at most 32 MiB are read",
            bytes.len() >> 20
        ));
    }
    if bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"\xd0\xcf\x11\xe0") {
        return Err(
            "this is a workbook; save the sheet as CSV (comma-separated values) and import \
                    that file"
                .to_string(),
        );
    }
    let (codec, encoding) = match bytes {
        [0xff, 0xfe, ..] => (UTF_16LE, Encoding::Utf16),
        [0xfe, 0xff, ..] => (UTF_16BE, Encoding::Utf16),
        _ if std::str::from_utf8(bytes).is_ok() => (UTF_8, Encoding::Utf8),
        _ => (WINDOWS_1252, Encoding::Windows1252),
    };
    let (text, broken) = codec.decode_with_bom_removal(bytes);
    if broken {
        return Err("the sheet begins as UTF-16 and is broken further on; save it as UTF-8".into());
    }
    if text.contains('\0') {
        return Err(
            "the sheet is not text, or UTF-16 without a mark at its beginning; save it as \
                    CSV in UTF-8"
                .to_string(),
        );
    }
    Ok((text.into_owned(), encoding))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_encoding_gives_the_same_text() {
        let text = "Käthe;Jöns\n";
        let utf16 = |mark: [u8; 2], bytes: fn(u16) -> [u8; 2]| {
            let units = text.encode_utf16().flat_map(bytes);
            mark.into_iter().chain(units).collect::<Vec<u8>>()
        };
        let sheets = [
            (text.as_bytes().to_vec(), Encoding::Utf8),
            ([b"\xef\xbb\xbf", text.as_bytes()].concat(), Encoding::Utf8),
            (utf16([0xff, 0xfe], u16::to_le_bytes), Encoding::Utf16),
            (utf16([0xfe, 0xff], u16::to_be_bytes), Encoding::Utf16),
            (b"K\xe4the;J\xf6ns\n".to_vec(), Encoding::Windows1252),
        ];
        for (bytes, encoding) in sheets {
            assert_eq!(decode(&bytes), Ok((text.to_string(), encoding)));
        }
    }

    #[test]
    fn what_is_no_text_is_refused_in_words() {
        for bytes in [&b"PK\x03\x04rest"[..], b"\xff\xfea", b"a\0b\0"] {
            assert!(decode(bytes).unwrap_err().contains("save"));
        }
    }
}
