"""A film written for the bureau: a TIFF or a PDF of one bit a pixel, in true size.

Both are written band by band, whole or not at all. The TIFF is packed by
PackBits, which every reader of the format must take; Group 4 packs closer, but
readers of it differ in what they take for black, and no library here packs it
without a byte a pixel. The PDF is one page with one picture, so little that it is
written out here, as version 1.4.
"""

import os
import tempfile
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from fractions import Fraction
from pathlib import Path
from typing import BinaryIO

import imagecodecs
import numpy as np
import tifffile

from etchcalc.artwork.film import Bits, Film
from etchcalc.core.faults import BadInput

_STRIP = 256  # rows of a strip of the TIFF
_PER_INCH = 10_000  # largest denominator of a resolution in dpi: 2400 comes out as 2400/1
_POINTS = 72 / 25.4  # to a millimetre
Progress = Callable[[float], None]


def tiff(
    film: Film, path: Path, *, black: str, mirrored: bool = False, progress: Progress | None = None
) -> None:
    """Write a film as a TIFF of one bit a pixel.

    Parameters
    ----------
    film : Film
        What is etched.
    path : Path
        Where to; a file that is there is replaced when the new one is whole.
    black : {"etched", "kept"}
        What the file's black stands for.
    mirrored : bool
        Whether left and right are exchanged, for a film whose emulsion lies on the plate.
    progress : callable, optional
        Told the share that is done; an exception from it ends the writing and leaves no trace.

    Raises
    ------
    BadInput
        The folder cannot be written; what was there is unchanged.
    """
    dpi = Fraction(film.resolution * 25.4).limit_denominator(_PER_INCH)
    ratio = (dpi.numerator, dpi.denominator)
    strips = (
        bytes(imagecodecs.packbits_encode(np.ascontiguousarray(band), axis=-1))
        for band in _bands(film, black, mirrored, progress, _STRIP)
    )
    with _whole(path) as file, tifffile.TiffWriter(file) as writer:
        writer.write(
            strips,
            shape=(film.rows, film.columns),
            dtype=np.bool_,
            bitspersample=1,
            photometric="miniswhite",  # a bit is black, as on the film
            compression="packbits",
            rowsperstrip=_STRIP,
            resolution=(ratio, ratio),
            resolutionunit="inch",
            description=_described(film, black, mirrored),
            software=False,
            metadata=None,
        )


def pdf(
    film: Film, path: Path, *, black: str, mirrored: bool = False, progress: Progress | None = None
) -> None:
    """Write a film as a PDF: one page of its size, one picture of one bit a pixel.

    Parameters and errors are those of `tiff`.
    """
    size = f"{film.width * _POINTS:.6f} {film.height * _POINTS:.6f}"
    drawn = f"q {size.replace(' ', ' 0 0 ')} 0 0 cm /Film Do Q".encode()
    head = (
        b"<< /Type /Catalog /Pages 2 0 R >>",
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        f"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 {size}] /Contents 4 0 R "
        "/Resources << /XObject << /Film 5 0 R >> >> >>".encode(),
        b"<< /Length %d >>\nstream\n%s\nendstream" % (len(drawn), drawn),
        f"<< /Type /XObject /Subtype /Image /Width {film.columns} /Height {film.rows} "
        "/ColorSpace /DeviceGray /BitsPerComponent 1 /Interpolate false /Filter /FlateDecode "
        "/Length 6 0 R >>\nstream\n".encode(),
    )
    with _whole(path) as file:
        file.write(b"%PDF-1.4\n%\xe2\xe3\xcf\xd3\n")
        places = []
        for number, content in enumerate(head, 1):
            places.append(file.tell())
            end = b"" if number == len(head) else b"\nendobj\n"
            file.write(b"%d 0 obj\n%s%s" % (number, content, end))
        start = file.tell()
        packer = zlib.compressobj()
        for band in _bands(film, black, mirrored, progress):
            file.write(packer.compress(np.invert(band).tobytes()))  # in a PDF a bit is white
        file.write(packer.flush())
        length = file.tell() - start
        file.write(b"\nendstream\nendobj\n")
        places.append(file.tell())
        file.write(b"6 0 obj\n%d\nendobj\n" % length)
        table = file.tell()
        file.write(b"xref\n0 7\n0000000000 65535 f \n")
        file.writelines(b"%010d 00000 n \n" % place for place in places)
        file.write(b"trailer\n<< /Size 7 /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n" % table)


def _described(film: Film, black: str, mirrored: bool) -> str:
    seen = "mirrored" if mirrored else "as the plate is seen"
    return f"Film {film.width:.3f} x {film.height:.3f} mm, {seen}; black is {black}"


def _bands(
    film: Film, black: str, mirrored: bool, progress: Progress | None, deep: int | None = None
) -> Iterator[Bits]:
    """Yield packed rows from the top, 1 where the file is black; spare bits may be either."""
    if black not in ("etched", "kept"):
        raise ValueError(f"black is 'etched' or 'kept', not {black!r}")
    slices = film.bands() if deep is None else _deep(film.rows, deep)
    for rows in slices:
        band = film.bits[rows]
        if mirrored:
            band = np.packbits(np.unpackbits(band, axis=1, count=film.columns)[:, ::-1], axis=1)
        if black == "kept":
            band = np.invert(band)
        if progress is not None:
            progress(rows.stop / film.rows)
        yield band


def _deep(rows: int, deep: int) -> Iterator[slice]:
    for top in range(0, rows, deep):
        yield slice(top, min(top + deep, rows))


@contextmanager
def _whole(path: Path) -> Iterator[BinaryIO]:
    """Open a file that takes its place only when it is whole; else nothing of it stays."""
    temporary = ""
    try:
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        os.close(handle)
        with Path(temporary).open("wb") as file:
            _readable(file.fileno())
            yield file
            file.flush()
            os.fsync(file.fileno())
        Path(temporary).replace(path)
    except OSError as fault:
        raise BadInput(
            f"The film {path.name} could not be saved in {path.parent} ({fault.strerror or fault}); "
            "what was there is unchanged. Free some space or choose a folder that can be written."
        ) from fault
    finally:
        if temporary:
            with suppress(OSError):  # it is gone once it has taken its place
                Path(temporary).unlink()


def _readable(handle: int) -> None:
    """Give a temporary file, which only its owner may read, the rights of an ordinary one."""
    with suppress(AttributeError, OSError):  # Windows has no such rights
        mask = os.umask(0)
        os.umask(mask)
        os.fchmod(handle, 0o666 & ~mask)
