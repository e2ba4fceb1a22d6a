from django.urls import path

from workshop.company import public_views, views

app_name = "company"
urlpatterns = [
    path("first/", public_views.first, name="first"),
    path("first/<str:token>/", public_views.first, name="first"),
    path("", views.settings, name="settings"),
    path("identity/", views.identity, name="identity"),
    path("rates/", views.rates, name="rates"),
    path("call-out/", views.call_out, name="call_out"),
    path("series/", views.series, name="series"),
    path("wordings/", views.wordings, name="wordings"),
    path("wordings/<slug:kind>/", views.wording, name="wording"),
    path("people/", views.people, name="people"),
    path("people/new/", views.person_new, name="person_new"),
    path("people/<int:pk>/", views.person, name="person"),
    path("powers/", views.powers, name="powers"),
]
