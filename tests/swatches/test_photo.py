"""Photos from strangers: every format, orientation, profile and depth, and every way to be wrong."""

import io
import struct
import zlib
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image, ImageCms

from swatches.errors import InputError, PictureError
from swatches.photo import jpeg_bytes, photo_from_array, png_bytes, read_photo, write_jpeg, write_png

REFERENCE = Path(__file__).parents[1] / "reference"


@pytest.fixture(scope="module")
def pixels():
    rng = np.random.default_rng(1)
    small = rng.integers(0, 255, (4, 6, 3), dtype=np.uint8)
    return cv2.resize(small, (60, 40), interpolation=cv2.INTER_CUBIC)


def saved(picture, file_format, **options):
    out = io.BytesIO()
    picture.save(out, file_format, **options)
    return out.getvalue()


@pytest.mark.parametrize("file_format", ["PNG", "BMP", "TIFF", "GIF", "WEBP", "JPEG"])
def test_formats(pixels, file_format):
    options = {"lossless": True} if file_format == "WEBP" else {"quality": 97} if file_format == "JPEG" else {}
    photo = read_photo(saved(Image.fromarray(pixels), file_format, **options))
    assert photo.size == (60, 40)
    allowed = {"GIF": 12, "JPEG": 4}.get(file_format, 0)
    assert np.abs(photo.rgb.astype(int) - pixels).mean() <= allowed
    assert not photo.rgb.flags.writeable


def test_heic_of_a_phone():
    # made with ImageMagick: a gradient from #cc3030 at the top to #3050c0 at the bottom
    photo = read_photo(REFERENCE / "gradient.heic")
    assert photo.size == (64, 48)
    np.testing.assert_allclose(photo.rgb[0].mean(axis=0), [0xCC, 0x30, 0x30], atol=8)
    np.testing.assert_allclose(photo.rgb[-1].mean(axis=0), [0x30, 0x50, 0xC0], atol=8)


@pytest.mark.parametrize("orientation", range(1, 9))
def test_every_exif_orientation_is_turned_upright(pixels, orientation):
    # EXIF 2.32, tag 0x0112; Pillow's own transposition stands for 'how the camera stored it'
    turn = {
        2: Image.Transpose.FLIP_LEFT_RIGHT, 3: Image.Transpose.ROTATE_180, 4: Image.Transpose.FLIP_TOP_BOTTOM,
        5: Image.Transpose.TRANSPOSE, 6: Image.Transpose.ROTATE_90, 7: Image.Transpose.TRANSVERSE,
        8: Image.Transpose.ROTATE_270,
    }.get(orientation)  # fmt: skip
    upright = Image.fromarray(pixels)
    exif = Image.Exif()
    exif[0x0112] = orientation
    stored = upright if turn is None else upright.transpose(turn)
    np.testing.assert_array_equal(read_photo(saved(stored, "PNG", exif=exif)).rgb, pixels)


def test_sixteen_bits_are_kept(pixels):
    deep = np.maximum(pixels.astype(np.uint16) * 257, 3) - 3
    assert read_photo(png_bytes(deep)).rgb.dtype == np.uint16
    np.testing.assert_array_equal(read_photo(png_bytes(deep)).rgb, deep)
    tiff = bytes(cv2.imencode(".tiff", deep[..., ::-1])[1])
    np.testing.assert_array_equal(read_photo(tiff).rgb, deep)
    assert np.abs(read_photo(tiff).rgb8.astype(int) - pixels).max() == 0
    grey = read_photo(png_bytes(deep[..., 0])).rgb
    np.testing.assert_array_equal(grey[..., 2], deep[..., 0])


def test_a_profile_is_honoured(pixels):
    # a profile whose primaries are swapped turns red into green; one that is sRGB changes nothing
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    swapped = swap_red_and_green(srgb)
    picture = Image.fromarray(np.full((8, 8, 3), (200, 40, 40), np.uint8))
    np.testing.assert_array_equal(read_photo(saved(picture, "PNG", icc_profile=srgb)).rgb[0, 0], [200, 40, 40])
    red, green, _ = read_photo(saved(picture, "PNG", icc_profile=swapped)).rgb[0, 0].astype(int)
    assert green > 150
    assert red < 90
    deep = read_photo(saved(picture, "PNG", icc_profile=b"no profile at all"))
    assert "cannot be used" in deep.notes[0]
    np.testing.assert_array_equal(deep.rgb[0, 0], [200, 40, 40])


def swap_red_and_green(profile):
    return profile.replace(b"rXYZ", b"tmpX").replace(b"gXYZ", b"rXYZ").replace(b"tmpX", b"gXYZ")


def test_printing_inks_are_converted_and_said(pixels):
    photo = read_photo(saved(Image.fromarray(pixels).convert("CMYK"), "JPEG", quality=97))
    assert np.abs(photo.rgb.astype(int) - pixels).mean() < 4
    assert any("printing inks" in note for note in photo.notes)


def test_transparent_parts_lie_on_white(pixels):
    alpha = np.zeros((40, 60), np.uint8)
    alpha[:, 30:] = 255
    photo = read_photo(png_bytes(np.dstack([pixels, alpha])))
    assert (photo.rgb[:, :30] == 255).all()
    np.testing.assert_array_equal(photo.rgb[:, 30:], pixels[:, 30:])
    np.testing.assert_array_equal(photo.alpha, alpha)
    full = read_photo(png_bytes(np.dstack([pixels, np.full((40, 60), 255, np.uint8)])))
    assert full.alpha is None


def test_the_first_of_a_moving_picture_is_used_and_said(pixels):
    first = Image.fromarray(pixels)
    photo = read_photo(saved(first, "GIF", save_all=True, append_images=[first.rotate(180)]))
    assert np.abs(photo.rgb.astype(int) - pixels).mean() < 12
    assert "the first is used" in photo.notes[0]


def test_grey_palette_and_bilevel_pictures(pixels):
    picture = Image.fromarray(pixels)
    for mode in ("L", "P", "1", "LA"):
        assert read_photo(saved(picture.convert(mode), "PNG")).rgb.shape == (40, 60, 3)


def refuse(source, words, **options):
    with pytest.raises(PictureError, match=words) as caught:
        read_photo(source, **options)
    assert len(str(caught.value)) < 400
    assert "\n" not in str(caught.value)


def test_what_is_no_picture_is_refused_in_one_sentence(pixels, tmp_path):
    refuse(b"", "an empty file")
    refuse(b"hello, cloth", "got a file, which is no picture")
    (tmp_path / "bad.png").write_bytes(b"hello, cloth")
    refuse(tmp_path / "bad.png", "got bad.png, which is no picture")
    refuse(b'<svg xmlns="http://www.w3.org/2000/svg"/>', "drawing in SVG")
    refuse(tmp_path / "missing.jpg", "no such file")
    refuse(tmp_path, "a folder")
    refuse(png_bytes(np.zeros((1, 1, 3), np.uint8)), "more than one pixel")


@pytest.mark.parametrize("share", [0.05, 0.3, 0.6, 0.9])
@pytest.mark.parametrize("kind", ["jpeg", "png", "deep", "webp", "heic"])
def test_a_file_that_breaks_off_is_refused(kind, share):
    rng = np.random.default_rng(2)
    noise = rng.integers(0, 255, (80, 90, 3), dtype=np.uint8)
    data = {
        "jpeg": jpeg_bytes(noise),
        "png": png_bytes(noise),
        "deep": png_bytes(noise.astype(np.uint16) * 257),
        "webp": saved(Image.fromarray(noise), "WEBP"),
        "heic": (REFERENCE / "gradient.heic").read_bytes(),
    }[kind]
    refuse(data[: int(len(data) * share)], "picture, got")


def test_bombs_are_refused_before_they_are_decoded():
    refuse(png_of_size(20_000, 20_000), "hundreds of megapixels")
    refuse(png_of_size(15_000, 10_000), "at most 120 megapixels")
    refuse(png_of_size(3000, 2000), "at most 5 megapixels", max_megapixels=5)


def png_of_size(width, height):
    """A PNG that only says how large it is."""

    def chunk(name, body):
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(bytes(1000))) + chunk(b"IEND", b"")
    )


def test_nothing_but_pixels_leaves(pixels, tmp_path):
    exif = Image.Exif()
    exif[0x0110] = "a phone"
    exif.get_ifd(0x8825)[1] = "N"
    photo = read_photo(saved(Image.fromarray(pixels), "JPEG", exif=exif, quality=95))
    png = write_png(tmp_path / "a.png", photo.rgb8, dpi=300).read_bytes()
    jpeg = write_jpeg(tmp_path / "a.jpg", photo.rgb8).read_bytes()
    for data in (png, jpeg):
        assert b"Exif" not in data
        assert b"phone" not in data
    assert png == png_bytes(photo.rgb8, dpi=300)
    assert jpeg == jpeg_bytes(photo.rgb8)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.jpg", "a.png"]


def test_a_place_that_cannot_be_written_is_said(pixels, tmp_path):
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(InputError, match="a place that can be written"):
        write_png(tmp_path / "file" / "a.png", pixels)


def test_a_photo_of_an_array_owns_its_pixels(pixels):
    grey = pixels[..., 0].copy()
    photo = photo_from_array(grey)
    grey[:] = 0
    assert photo.rgb.shape == (40, 60, 3)
    assert photo.rgb.max() > 0
    np.testing.assert_allclose(photo.linear().max(), (photo.rgb.max() / 255) ** 2.2, rtol=0.1)
