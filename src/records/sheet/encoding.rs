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
        _ => {
            stray(bytes)?;
            (WINDOWS_1252, Encoding::Windows1252)
        }
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

/// Refuses what is neither UTF-8 nor Windows-1252: UTF-8 letters with a sign among them that is not,
/// and bytes that Windows-1252 leaves free. Taken for the other, names would come in with wrong
/// letters.
fn stray(bytes: &[u8]) -> Result<(), String> {
    let (mut letters, mut broken, mut row) = (false, None, 1);
    for chunk in bytes.utf8_chunks() {
        letters |= !chunk.valid().is_ascii();
        row += chunk.valid().matches('\n').count();
        if !chunk.invalid().is_empty() {
            broken = broken.or(Some(row));
        }
    }
    match broken {
        Some(line) if letters => Err(format!(
            "line {line} has a sign that is not UTF-8, while other lines have letters in UTF-8; save the \
             sheet again as CSV in UTF-8"
        )),
        _ if bytes.iter().any(|byte| matches!(byte, 0x81 | 0x8d | 0x8f | 0x90 | 0x9d)) => {
            Err("the sheet is neither UTF-8 nor Windows-1252; save it as CSV in UTF-8".to_string())
        }
        _ => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_stray_byte_does_not_turn_all_letters_into_others() {
        let told = decode("Käthe;\nJo\u{20ac}rg;\n".as_bytes()).map(|(_, encoding)| encoding);
        assert_eq!(told, Ok(Encoding::Utf8));
        let mixed = ["Käthe;a\nb;".as_bytes(), b"\xe4\n"].concat();
        assert!(decode(&mixed).unwrap_err().contains("line 2"));
        assert!(decode(b"a\x81b\n").is_err());
    }

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
